"""What shape a value has that came from outside: typed, where ``isinstance`` leaves what is inside unknown."""

from typing import TypeGuard


def is_object(found: object) -> TypeGuard[dict[str, object]]:
    """Whether it is an object as JSON knows it; its keys are texts by JSON's own rule."""
    return isinstance(found, dict)


def is_list(found: object) -> TypeGuard[list[object] | tuple[object, ...]]:
    """Whether it is a list of things, of whatever kind."""
    return isinstance(found, list | tuple)
