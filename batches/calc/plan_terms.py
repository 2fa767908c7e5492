"""What a formula fixes of a plan: ratio, strengths, what is held back, what is lost."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_fraction


@dataclass(frozen=True, slots=True)
class Retention:
    """mL held back per g of dry matter: the best estimate, and the range it may fall in."""

    estimate: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.estimate <= self.high < float("inf"):
            raise OutOfRange("What the marc holds back needs a low, an estimate and a high, in that order.")


@dataclass(frozen=True, slots=True)
class Pot:
    """How the marc is simmered: hours on the heat, the rate of water lost, what the spent marc will hold."""

    hours: float
    rate_ml_h: float
    spent_retention: float


@dataclass(frozen=True, slots=True)
class Terms:
    """What the formula fixes. `ratio` is mL of menstruum per g of herb as weighed; losses are shares 0..1.

    With a `pot` the marc is simmered and the tincture let down to `target_abv` with its extract; without one
    the tincture is kept as pressed, or let down with water when `target_abv` is given. `made_up_to` (mL per
    g of herb) fixes what a fluid extract makes instead, whatever drips.
    """

    ratio: float
    menstruum_abv: float
    stock_abv: float
    moisture: float
    retention: Retention
    target_abv: float | None
    pot: Pot | None
    fill_ml: float
    overfill_ml: float = 0.0
    settle_loss: float = 0.0
    filter_loss: float = 0.0
    bottling_loss: float = 0.0
    made_up_to: float | None = None

    def kept(self) -> float:
        """Share (0..1) of the liquid that is left to bottle after settling and filtering."""
        for loss, what in (
            (self.settle_loss, "The loss in settling"),
            (self.filter_loss, "The loss in filtering"),
            (self.bottling_loss, "The loss in bottling"),
        ):
            need_fraction(loss, what)
            if loss == 1.0:
                raise OutOfRange(f"{what} cannot be everything.")
        return (1.0 - self.settle_loss) * (1.0 - self.filter_loss)


@dataclass(frozen=True, slots=True)
class Pour:
    """A liquid put on the herb: `ml_per_g` mL to a gram of it, of `density` g/mL at 20 °C."""

    role: str
    words: str
    ml_per_g: float
    density: float


@dataclass(frozen=True, slots=True)
class Sweet:
    """Sugar or honey: `g_per_g` to a gram of herb, each gram adding `ml_per_g` mL."""

    words: str
    g_per_g: float
    ml_per_g: float


@dataclass(frozen=True, slots=True)
class SimpleTerms:
    """What the formula fixes. Shares 0..1.

    With `water_joins` off the herb's own water stays out of the liquid (oil). `boil_to` is the share of the
    poured volume that is left after boiling down, at `rate_ml_h`. `keep_abv` fortifies with `spirit_abv`.
    """

    pours: tuple[Pour, ...]
    moisture: float
    retention: Retention
    fill_ml: float
    water_joins: bool = True
    boil_to: float | None = None
    rate_ml_h: float = 0.0
    sweet: Sweet | None = None
    keep_abv: float | None = None
    spirit_abv: float = 96.0
    settle_loss: float = 0.0
    bottling_loss: float = 0.0
