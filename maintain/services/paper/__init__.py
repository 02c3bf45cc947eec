"""What stands on the pages that a club prints."""
