"""Heart-rate recovery: how far the rate falls in the first minute after work.

Source: Cole and others (1999), from memory for the protocol; the definition was read. Their adult cut-off marks
risk in patients sent for imaging and is never applied to a student: recovery depends on age, body mass and rest.
In 63 people with spinal cord injury it followed the peak that had been reached, so the peak is shown beside it.
"Recovery" is always written out, because HRR also stands for the reserve.
"""

RECOVERY_S = 60.0
"""From the end of work to the second reading [s]."""


def recovery(bpm_at_end: float, bpm_after_60s: float) -> float:
    """Fall in heart rate over the 60 s after work [/min]; negative if it rose, NaN if either is unknown.

    Parameters
    ----------
    bpm_at_end : float
        [/min]; at the end of work
    bpm_after_60s : float
        [/min]; 60 s later, in the same posture at every trial
    """
    return bpm_at_end - bpm_after_60s
