"""How many bytes a screen takes: no more than a form has, but where its function says otherwise."""

from collections.abc import Callable


def takes_up_to(most: int) -> Callable[[Callable[..., object]], Callable[..., object]]:
    """Mark a route's function as one that takes more than a form has [bytes]."""

    def marked(endpoint: Callable[..., object]) -> Callable[..., object]:
        endpoint.takes_up_to = most  # type: ignore[attr-defined]
        return endpoint

    return marked


def body_limit(endpoint: Callable[..., object]) -> int:
    """How many bytes a route's function takes; 0 where it is no more than a form."""
    return getattr(endpoint, "takes_up_to", 0)
