"""What was entered of a class's day, in words."""

from datetime import datetime

from ..records.day_entry import Assisted, Entry, Exertion, Noted, Press, Stopped
from ..words.render import Words


def at_text(at: datetime) -> str:
    """A moment of the day: 9:05:30."""
    return f"{at.hour}:{at:%M:%S}"


def entry_text(each: Entry, words: Words) -> str:
    """What an entry says, with its moment; empty where it is none that is shown one by one."""
    at = at_text(each.at)
    match each.what:
        case Press(what=what):
            return words.get(f"web_now.told_{what}", at=at)
        case Stopped(why=why):
            return words.get("web_now.told_stop_why", at=at, why=why) if why else words.get("web_now.told_stop", at=at)
        case Assisted(what=what):
            return words.get(f"web_now.told_assist_{what}", at=at)
        case Exertion(value=value, scale=scale):
            return words.get("web_now.told_exertion", at=at, value=value, scale=words.get(f"web_now.scale_{scale}"))
        case Noted(text=text):
            return words.get("web_now.told_note", at=at, text=text)
        case _:
            return ""
