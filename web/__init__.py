"""The local page: the same logbook and the same functions as the command line, in a browser on this computer.

It holds no logic of its own about children or numbers: what a screen needs is asked of ``records`` and ``reports``.
"""
