"""What pianos of one sort fetch in each of the four states: the figure that the market side hands to an appraisal."""

from __future__ import annotations

from dataclasses import dataclass

BASES = ("band table", "blend", "sales")


@dataclass(frozen=True, slots=True, kw_only=True)
class PricesByState:
    """Four likely prices of one piano, with every part sound, serviceable, worn and failed.

    Features of build are not in them: whoever uses them multiplies by the features' factors, as with a band row.

    Attributes
    ----------
    prices : tuple of float, length 4
        Likely (median) price achieved in a private sale, sound to failed [money].
    spread : float
        8 in 10 prices lie between likely/spread and likely*spread [-].
    basis : str
        ``band table``, ``blend`` of table and sales, or ``sales`` where the table hardly counts any more.
    sales_used : int
        Number of sales behind the figures; 0 where the table speaks alone [-].
    table_weight : float
        Share of the weight that the table has beside the sales, 0 to 1 [-].
    spreads : tuple of float, length 4 or 0
        The same as `spread` for each state, where they are known apart [-].
    rows : tuple of str
        Where it comes from: the band row as ``file:line``, then the sales as ``sale ID``.

    Raises
    ------
    ValueError
        If the prices don't fall from sound to failed, or another figure is out of its range.
    """

    prices: tuple[float, ...]
    spread: float
    basis: str
    sales_used: int
    table_weight: float
    rows: tuple[str, ...]
    spreads: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        sound, serviceable, worn, failed = self.prices
        if not sound >= serviceable >= worn >= failed > 0:
            raise ValueError(f"prices must fall from sound to failed and stay above 0: {self.prices}")
        for spread in (self.spread, *self.spreads):
            if not spread >= 1:
                raise ValueError(f"a spread is 1 or more: {spread}")
        if len(self.spreads) not in (0, len(self.prices)):
            raise ValueError(f"there is one spread for each state, or none: {self.spreads}")
        if self.basis not in BASES:
            raise ValueError(f"the basis is one of {', '.join(BASES)}: {self.basis}")
        if not 0 <= self.table_weight <= 1:
            raise ValueError(f"a weight is a share, 0 to 1: {self.table_weight}")
