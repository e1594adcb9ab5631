"""Why a table may not name a file where it lies."""

from ..words.message import Message, Quoted

ADDRESS_SAVE_BESIDE = Message("address.save_beside")
ADDRESS_SAME_STORE = Message("address.same_store")


def address_not_fetched(address: Quoted) -> Message:
    """A table on a disk names a file over the network."""
    return Message.of("address.not_fetched", address=address)


def address_elsewhere(address: Quoted, folder: Quoted) -> Message:
    """A table in a store names a file that is not in that store."""
    return Message.of("address.elsewhere", address=address, folder=folder)
