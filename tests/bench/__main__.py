"""``python -m tests.bench``: every benchmark, one after the other."""

from tests.bench import commands, readers

for measure in (readers.fit, readers.xml, readers.linear, commands.cold):
    measure()
    print()
