"""What is said of the supplies."""

from __future__ import annotations

STOCK_TITLE = "Supplies"
KEY_SUPPLIES = "Supplies"
STOCK_NONE = "Your order sheet asks for no supplies."
STOCK_HEAD = "Pick one to write down what came, or what you counted."
STOCK_KEPT_BACK = "These sums keep a few back, for what may be spoiled."
STOCK_ONE = "{name}: {says}"
STOCK_NUMBERED = "{number}. {says}"
STOCK_UNKNOWN = "not counted yet."
STOCK_THERE = "{number} there."
STOCK_SHORT = "none there by the sum, and {number} more were used. Count what is there."
STOCK_LASTS = "Enough for each dose before {time}."
STOCK_LASTS_NOT = "There may not be enough for the next dose."
STOCK_LASTS_LONG = "Enough for {days} days and more."
STOCK_ORDER_BY = "Order by {day}."
STOCK_ORDER_NOW = "Order now: call the pharmacist, {phone}."
STOCK_UNREAD = (
    "Doses in the record that cannot be read: {number}. Each counts as a dose with nothing "
    "spoiled. Count what is there."
)
STOCK_BATCH = "{number}: good until {time}."
STOCK_BATCH_LOT = "{number}: good until {time}. Lot {lot}."
STOCK_BATCH_BARE = "{number}: no date."
STOCK_FIRST = "Use them in this order."
STOCK_TOO_OLD = (
    "{number} will be too old before their turn comes. They are good until {time}. Tell the "
    "pharmacist when you order."
)
STOCK_PAST_DATE = (
    "{number} are too old. They were good until {time}. Do not use them. Put them apart, and ask "
    "the pharmacist what to do with them."
)
STOCK_CAME = "{day}: {number} came."
STOCK_COUNTED = "{day}: {number} counted. {reason}"
STOCK_WHAT = "What do you want to write down?"
STOCK_KINDS = {
    "delivered": "More of it came",
    "counted": "I counted it, and the number is another",
}
STOCK_ASKS = {
    "number": "How many pieces?",
    "discard": (
        "Until when may they be used? Type the date on the label, such as 30 Nov 2026. If there "
        "is none, press Enter."
    ),
    "lot": "Which lot is it? It is on the label. If you do not know, press Enter.",
    "which": "Which ones? Type their date as it stands in the list. For no date, press Enter.",
    "reason": "Why is the number another? Type a few words.",
}
STOCK_KEPT = "It is written down."
STOCK_NUMBER = "Please type a whole number from {least} to {most}."
STOCK_PAST = "That date is over. Look at the label again. Do not use what is past its date."
STOCK_NOT_THERE = "None with that date is there. Look at the list, then type the date again."
STOCK_WHICH = (
    "There are pieces with different dates. Say which you counted: --date and their date as it "
    "stands in the list, or --date none for those with no date."
)
STOCK_REASON = "Please type a few words that say why."
STOCK_LONG = "Please use at most {most} letters."
STOCK_NO_ITEM = "There is no item called {item}. There are: {items}."
TYPE_SUPPLIES = "Type the number of one to write something down, or press Enter to go back."
TYPE_STOCK_KIND = "Type the number of your answer, or press Enter to go back."
TYPE_STOCK = "Type each answer and press Enter, or type back."
