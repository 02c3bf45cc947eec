"""Taking in what phones hand over: sorties and symptoms, compared with the records before anything is written."""
