"""Many class tables into one logbook: measured by whoever works (``executors``), stored by one writer.

tables   class tables out of arguments and folders
job      a row with everything that measuring it needs
work     what a worker does with it: no logbook, no database
writer   what is measured into the logbook, many trials in a transaction; whatever is not plain as class add does it
whole    all of it, table by table, in the order of the rows
report   what became of it
"""
