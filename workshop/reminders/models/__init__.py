from workshop.reminders.models.dues import Due, Mark, Series
from workshop.reminders.models.messages import Message, Told
from workshop.reminders.models.reach import Channel, Closure, Feed, HouseRules, Reach

__all__ = [
    "Channel",
    "Closure",
    "Due",
    "Feed",
    "HouseRules",
    "Mark",
    "Message",
    "Reach",
    "Series",
    "Told",
]
