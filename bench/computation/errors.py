"""The one error of the computations: which quantity, what was found, what is wanted."""

from __future__ import annotations


class QuantityError(ValueError):
    """A quantity that a computation cannot work with.

    Parameters
    ----------
    quantity : str
        Name of the quantity, the same as the parameter's or the field's name; parts of lists as `name[2]`.
    found : object
        What was given.
    wanted : str
        What would have been right, in words.

    Attributes
    ----------
    quantity : str
        As above.
    found : object
        As above.
    wanted : str
        As above.

    Examples
    --------
    >>> str(QuantityError("speed_rpm", found=0.0, wanted="a finite number above 0"))
    'speed_rpm: found 0.0, wanted a finite number above 0'
    """

    def __init__(self, quantity: str, *, found: object, wanted: str) -> None:
        self.quantity = quantity
        self.found = found
        self.wanted = wanted
        super().__init__(f"{quantity}: found {found}, wanted {wanted}")
