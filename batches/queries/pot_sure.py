"""How sure a pot's rate and hours are: by its first guess, its readings' scatter, how finely one reads."""

from __future__ import annotations

from batches.calc.decoction import BlendedRate, PotForecast, Rate, pot_area_cm2
from batches.calc.errors import OutOfRange
from batches.calc.sure import until, with_all
from batches.calc.uncertain import Known, Uncertain
from batches.models import Vessel
from batches.queries.instruments import in_use
from workshop.calc.working import Figure


def loss_sure(loss: BlendedRate, rate: Rate | None) -> Uncertain:
    """The blended rate, mL/h, with the share that guess and readings have in its uncertainty: the standard
    error of the line through the readings, never finer than one reading allows (GUM H.3.3).
    """
    by_guess = {"guess": (1.0 - loss.weight) * loss.guess_u}
    if rate is None or loss.measured_u is None:
        return Uncertain(loss.ml_per_h, by_guess)
    scatters = (rate.standard_error or 0.0) >= loss.measured_u
    return Uncertain(
        loss.ml_per_h, by_guess | {"rate" if scatters else "level": loss.weight * loss.measured_u}
    )


def pot_figures(
    forecast: PotForecast, loss: BlendedRate, rate: Rate | None, vessel: Vessel | None
) -> dict[str, Figure]:
    """The figures of a pot, with how sure they are once its readings count."""
    found = forecast.figures() | loss.figures()
    if loss.early:
        return found
    area = pot_area_cm2(vessel.diameter_cm) if vessel and vessel.diameter_cm else None
    tools = in_use()
    now_u = tools.level_u(area) if area else tools.volume_u(forecast.now_ml)
    lost = loss_sure(loss, rate)
    shown = found | with_all({"ml_per_h": found["ml_per_h"]}, {"ml_per_h": lost})
    try:
        sure = until(
            now=Known(forecast.now_ml, now_u),
            rate=lost,
            target_ml=forecast.target_ml,
            dry_ml=forecast.dry_ml,
        )
    except OutOfRange:
        return shown
    return with_all(shown, sure) | {"ml_per_h": shown["ml_per_h"]}
