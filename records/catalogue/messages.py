"""What the choice of a test has to say. The name of each is its code with "_" for "."."""

from ...words.message import Message

CHOOSE_NONE = Message("choose.none")
CHOOSE_ALL = Message("choose.all")
CHOOSE_NO_MOVEMENT = Message("choose.no_movement")
CHOOSE_BOTH = Message("choose.both")


def choose_fits(movements: tuple[str, ...]) -> Message:
    """The student has every movement that the test takes."""
    return Message.of("choose.fits", movements=movements)


def choose_takes(movements: tuple[str, ...]) -> Message:
    """Movements that the test takes, all of them."""
    return Message.of("choose.takes", movements=movements)


def choose_takes_one(movements: tuple[str, ...]) -> Message:
    """Movements of which the test takes one."""
    return Message.of("choose.takes_one", movements=movements)


def choose_meets(needs: tuple[str, ...]) -> Message:
    """Needs that the test meets."""
    return Message.of("choose.meets", needs=needs)


def choose_sense(sense: str) -> Message:
    """A sense that the task asks, and nobody has said whether the student has it."""
    return Message.of("choose.sense", sense=sense)


def choose_sense_or(sense: str, test: str) -> Message:
    """The same, and the test of the family that does not ask it."""
    return Message.of("choose.sense_or", sense=sense, test=test)


def choose_both_or(test: str) -> Message:
    """The test takes both sides at once, and the one of the family that does not."""
    return Message.of("choose.both_or", test=test)


def choose_opens(movement: str, tests: tuple[str, ...]) -> Message:
    """Tests that one more movement would open."""
    return Message.of("choose.opens", movement=movement, tests=tests)


def choose_opens_without(need: str, tests: tuple[str, ...]) -> Message:
    """Tests that would fit without a need."""
    return Message.of("choose.opens_without", need=need, tests=tests)


def choose_first(tests: tuple[str, ...]) -> Message:
    """The tests to begin with, the least changed."""
    return Message.of("choose.first", tests=tests)


def choose_unfit(component: str) -> Message:
    """No test of a component fits."""
    return Message.of("choose.unfit", component=component)


def choose_lacks(movements: tuple[str, ...]) -> Message:
    """Movements that a test takes and that were not said of the student."""
    return Message.of("choose.lacks", movements=movements)


def choose_lacks_any(movements: tuple[str, ...]) -> Message:
    """Movements of which a test takes one, and none was said of the student."""
    return Message.of("choose.lacks_any", movements=movements)


def choose_lacks_need(need: str) -> Message:
    """A need that a test as it is written does not meet."""
    return Message.of("choose.lacks_need", need=need)
