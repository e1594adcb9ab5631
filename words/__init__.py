"""What people read: messages as values, and the one place that turns them into a language. Imports nothing heavy.

``Message`` is a stable code with named values; ``Words`` writes it in a language from the catalogues beside this file
(one folder a language, one file a layer). Whatever a layer has to say travels as a message; only the edge makes words.
"""

from .message import Message, Quoted, Value
from .render import LANGUAGES, Words

__all__ = ["LANGUAGES", "Message", "Quoted", "Value", "Words"]
