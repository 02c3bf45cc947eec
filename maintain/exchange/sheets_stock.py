"""Files of stock, debts, work, dates, and checks."""

from __future__ import annotations

from maintain import vocabulary as say
from maintain.exchange.field import NOTE, UID, Field, Sheet, day, money, ref, text, whole, word, yes_no

_QUANTITY = whole("Quantity", "quantity", "How many.", needed=True, least=1)

LOANS = Sheet(
    "loans.csv",
    "loan",
    "loan",
    "What was lent, and whether it came back.",
    (
        ref("Part", "part_id", "part", "The tagged part; empty for counted stock."),
        ref("Family", "family_id", "family", "Its family.", needed=True),
        _QUANTITY,
        ref("Lender", "lender_id", "member", "Who lent; empty is the pool."),
        ref("Borrower", "borrower_id", "member", "Who borrowed; empty is the pool."),
        ref("Ship", "ship_id", "ship", "For which ship."),
        day("Lent on", "lent_on", "The day.", needed=True),
        day("Due on", "due_on", "Day it should be back."),
        word("Terms", "terms", say.LOAN_TERMS, "What is owed.", default="return"),
        day("Closed on", "closed_on", "Day it was settled."),
        word("Came back", "came_back", say.RETURN_CONDITIONS, "In what condition."),
        NOTE,
        UID,
    ),
    identity=("lent_on", "family_id", "part_id", "lender_id", "borrower_id", "quantity"),
    label="{family_id} {part_id} {lent_on} {borrower_id}",
)

MOVEMENTS = Sheet(
    "movements.csv",
    "movement",
    "movement",
    "The ledger of counted stock: what went from where to where.",
    (
        ref("Family", "family_id", "family", "The counted family.", needed=True),
        _QUANTITY,
        word("From", "from_place", say.STOCK_PLACES, "Where it came from.", needed=True),
        word("To", "to_place", say.STOCK_PLACES, "Where it went.", needed=True),
        ref("From member", "from_member_id", "member", "Which captain it came from."),
        ref("To member", "to_member_id", "member", "Which captain it went to."),
        ref("Ship", "ship_id", "ship", "Which ship it came from or went to."),
        ref("Loan", "loan_id", "loan", "The loan it belongs to."),
        day("Moved on", "moved_on", "The day.", needed=True),
        day("Made on", "made_on", "The day it was made: rubber ages from its cure."),
        money("Unit cost", "unit_cost_cents", "Cost of one."),
        text("Reason", "reason", "Why."),
        UID,
    ),
    identity=(
        "moved_on",
        "family_id",
        "from_place",
        "to_place",
        "from_member_id",
        "to_member_id",
        "ship_id",
        "quantity",
    ),
)

DEBTS = Sheet(
    "debts.csv",
    "debt",
    "debt",
    "What is owed in kind.",
    (
        ref("Debtor", "debtor_id", "member", "Who owes; empty is the pool."),
        ref("Creditor", "creditor_id", "member", "Who is owed; empty is the pool."),
        ref("Family", "family_id", "family", "What is owed.", needed=True),
        _QUANTITY,
        ref("Loan", "loan_id", "loan", "The loan it came from."),
        day("Since", "since_on", "Since when.", needed=True),
        day("Due on", "due_on", "Day it should be settled."),
        day("Settled on", "settled_on", "Day it was settled."),
        NOTE,
        UID,
    ),
    identity=("since_on", "family_id", "debtor_id", "creditor_id", "quantity"),
)

PURCHASES = Sheet(
    "purchases.csv",
    "purchase",
    "purchase",
    "Orders and deliveries.",
    (
        ref("Family", "family_id", "family", "What was ordered.", needed=True),
        _QUANTITY,
        money("Unit cost", "unit_cost_cents", "Cost of one."),
        text("Supplier", "supplier", "From whom."),
        day("Ordered on", "ordered_on", "The day.", needed=True),
        day("Expected on", "expected_on", "Day it should arrive."),
        day("Received on", "received_on", "Day it arrived."),
        NOTE,
        UID,
    ),
    identity=("ordered_on", "family_id", "supplier", "quantity"),
)

STOCKTAKES = Sheet(
    "stocktakes.csv",
    "stocktake",
    "count",
    "What somebody really counted in the pool.",
    (
        ref("Family", "family_id", "family", "What was counted.", needed=True),
        day("Counted on", "counted_on", "The day.", needed=True),
        whole("Counted", "counted", "How many there were.", needed=True),
        NOTE,
        UID,
    ),
    identity=("counted_on", "family_id", "counted"),
    label="{family_id} {counted_on} {counted}",
)

DISCREPANCIES = Sheet(
    "discrepancies.csv",
    "discrepancy",
    "discrepancy",
    "What was issued though the records held none; open until a count settles it.",
    (
        ref("Part", "part_id", "part", "The tagged part; empty for counted stock."),
        ref("Family", "family_id", "family", "Its family.", needed=True),
        _QUANTITY,
        day("Found on", "found_on", "The day.", needed=True),
        ref("Settled by", "stocktake_id", "stocktake", "The count that settled it."),
        NOTE,
        UID,
    ),
    identity=("found_on", "family_id", "part_id", "quantity"),
)

SHELF_LIMITS = Sheet(
    "shelf_limits.csv",
    "shelf_limit",
    "shelf limit",
    "How long something may lie in store, and who says so. One row for a family or for a category.",
    (
        ref("Family", "family_id", "family", "The family; empty where a category is named."),
        word("Category", "category", say.CATEGORIES, "The category; empty where a family is named."),
        whole("Days", "days", "Days it may lie; empty where the source sets no limit.", least=1),
        whole("Extension days", "extension_days", "Days more, once it was inspected at the end of these.", least=1),
        text("Source", "source", "Who says so.", needed=True),
        NOTE,
        UID,
    ),
    identity=("family_id", "category"),
    unique=True,
)

READINGS = Sheet(
    "readings.csv",
    "reading",
    "reading",
    "Measurements on a part or in a position.",
    (
        ref("Part", "part_id", "part", "The part measured."),
        ref("Position", "position_id", "position", "The position measured."),
        word("Measure", "measure", say.MEASURES, "What was measured.", needed=True),
        Field("Value", ("value",), "number", "The value; may be negative.", needed=True, signed=True),
        text("Unit", "unit", "Unit of the value."),
        day("Taken on", "taken_on", "The day.", needed=True),
        ref("By", "by_id", "member", "Who measured."),
        NOTE,
        UID,
    ),
    identity=("taken_on", "part_id", "position_id", "measure", "value"),
    label="{part_id} {position_id} {measure} {taken_on}",
)

READING_LIMITS = Sheet(
    "reading_limits.csv",
    "reading_limit",
    "reading limit",
    "What a measure is held against, and who says so: for a family, a category, or wherever nothing closer is said.",
    (
        word("Measure", "measure", say.GAUGED, "What is measured.", needed=True),
        ref("Family", "family_id", "family", "Of this family only."),
        word("Category", "category", say.CATEGORIES, "Of this category only."),
        word("Bound", "bound", say.BOUNDS, "On which side good readings lie.", needed=True),
        Field("Value", ("value",), "number", "The limit, in the measure's unit or in per cent.", needed=True),
        yes_no("Percent of first", "percent_of_first", "Whether it is in per cent of the part's first reading."),
        text("Source", "source", "Who says so.", needed=True),
        NOTE,
        UID,
    ),
    identity=("measure", "family_id", "category"),
    unique=True,
)

TASKS = Sheet(
    "tasks.csv",
    "task",
    "task",
    "Work to do once or again and again. The due date and who decides it are the club's; none is invented.",
    (
        text("Task", "title", "What to do.", needed=True),
        ref("Ship", "ship_id", "ship", "On which ship."),
        ref("Position", "position_id", "position", "On which position."),
        ref("Part", "part_id", "part", "On which part."),
        ref("Family", "family_id", "family", "On which family."),
        word("Category", "category", say.CATEGORIES, "On which kind of part."),
        word("Clock", "clock", say.TASK_CLOCKS, "What it recurs by."),
        whole("Every", "every", f"How much of the clock between two times; {say.A_SEASON}: how many.", least=1),
        day("Due on", "due_on", "Day it is due, if it does not recur."),
        day("Starts on", "starts_on", "Day the clock starts.", needed=True),
        day("Closed on", "closed_on", "Day it was done with for good."),
        text("Why closed", "why_closed", "Why it was stopped."),
        text("Source", "source", "Who says so: common practice, a rule, a regulation."),
        text("Decider", "decider", "Who decides."),
        whole("Work minutes", "work_minutes", "Minutes of work."),
        NOTE,
        UID,
    ),
    identity=("title", "ship_id", "position_id", "part_id", "family_id", "category", "starts_on"),
    label="{title} {ship_id} {position_id} {part_id} {family_id} {category}",
)

TASK_INTERVALS = Sheet(
    "task_intervals.csv",
    "task_interval",
    "interval",
    "Further clocks of work that recurs on several: it is due as soon as the first of them is reached.",
    (
        ref("Task", "task_id", "task", "The task.", needed=True),
        word("Clock", "clock", say.TASK_CLOCKS, "What it recurs by as well.", needed=True),
        whole("Every", "every", f"How much of the clock; {say.A_SEASON}: how many.", needed=True, least=1),
        UID,
    ),
    identity=("task_id", "clock"),
    unique=True,
)

TASK_COMPLETIONS = Sheet(
    "task_completions.csv",
    "task_completion",
    "completion",
    "When a task was done.",
    (
        ref("Task", "task_id", "task", "The task.", needed=True),
        ref("Ship", "ship_id", "ship", "On which ship."),
        ref("Part", "part_id", "part", "On which part."),
        day("Done on", "done_on", "The day.", needed=True),
        whole("Done after sortie", "done_sortie", "How many she had sailed that day by then; empty: all of them."),
        ref("By", "by_id", "member", "Who did it."),
        NOTE,
        UID,
    ),
    identity=("done_on", "done_sortie", "task_id", "ship_id", "part_id"),
)

CERTIFICATES = Sheet(
    "certificates.csv",
    "certificate",
    "certificate",
    "Dated papers of a part, with who says so and who decides: a licensed inspector, the club's safety officer.",
    (
        ref("Part", "part_id", "part", "The part.", needed=True),
        text("Certificate", "kind", "What it attests.", needed=True),
        day("Issued on", "issued_on", "Day of issue."),
        day("Expires on", "expires_on", "Last day it is good for.", needed=True),
        text("Source", "source", "The rule that asks for it.", needed=True),
        text("Decider", "decider", "Who decides.", needed=True),
        NOTE,
        UID,
    ),
    identity=("part_id", "kind", "expires_on"),
)
