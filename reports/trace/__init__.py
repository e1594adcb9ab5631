"""A trial or a file as one looks into it: zoomed, read value by value, with what each rule set aside.

    trace = trace_of_trial(trial, student, protocol, originals, sheet)
    drawn(trace, View(600.0, 1200.0), words)

The pictures of a sheet and the trace rest on one ``Series``, so that both show the same.
"""
