"""Careless habits: what somebody does who wants to be done."""

HABITS = {
    "unread": "says yes without opening the document or the list",
    "told": "takes the owner's word, or a display's, for what he could measure",
    "not_looked": "says yes from where he stands",
    "one_for_all": "looks at one and answers for all",
    "left_for_both": "measures the left side and types it for the right",
    "rule_of_thumb": "turns the display's unit into another by a rule of thumb",
    "one_way": "reads the level one way and does not turn it",
    "own_kit": "does not count his own things",
}
