"""The few special functions that a comparison needs, with their types.

Taken from ``scipy.special``, which ships none; it is loaded on use, because a comparison without repeats needs none.
"""
# scipy ships no types.
# pyright: reportMissingTypeStubs=false, reportUnknownVariableType=false, reportUnknownArgumentType=false


def digamma(x: float) -> float:
    """First derivative of the logarithm of the gamma function, x > 0."""
    from scipy.special import digamma as of

    return float(of(x))


def trigamma(x: float) -> float:
    """Second derivative of the logarithm of the gamma function, which is Hurwitz' zeta(2, x), x > 0."""
    from scipy.special import zeta

    return float(zeta(2.0, x))


def normal_below(z: float) -> float:
    """Share of the standard normal distribution below ``z``."""
    from scipy.special import ndtr

    return float(ndtr(z))


def normal_quantile(share: float) -> float:
    """Where this share of the standard normal distribution lies below."""
    from scipy.special import ndtri

    return float(ndtri(share))


def student_t_below(df: float, t: float) -> float:
    """Share of Student's t with ``df`` degrees of freedom below ``t``."""
    from scipy.special import stdtr

    return float(stdtr(df, t))


def student_t_quantile(df: float, share: float) -> float:
    """Where this share of Student's t with ``df`` degrees of freedom lies below."""
    from scipy.special import stdtrit

    return float(stdtrit(df, share))


def chi_squared_above(df: float, x: float) -> float:
    """Share of χ² with ``df`` degrees of freedom above ``x``."""
    from scipy.special import chdtrc

    return float(chdtrc(df, x))


def f_above(df: float, df_below: float, ratio: float) -> float:
    """Share of F with ``df`` and ``df_below`` degrees of freedom above ``ratio``."""
    from scipy.special import fdtrc

    return float(fdtrc(df, df_below, ratio))
