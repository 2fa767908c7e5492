"""How sure a pot's rate and hours are: by its readings' scatter, and by how finely a level is read."""

from __future__ import annotations

from math import sqrt

from batches.calc.decoction import PotForecast, Rate, pot_area_cm2
from batches.calc.errors import OutOfRange
from batches.calc.sure import until, with_all
from batches.calc.uncertain import Known, Uncertain
from batches.models import Vessel
from batches.queries.instruments import in_use
from workshop.calc.working import Figure


def rate_sure(rate: Rate, reading_u: float) -> Uncertain:
    """The rate lost, mL/h: the standard error of the line through the readings, never finer than one reading
    (`reading_u`, mL) allows.

    The uncertainty of a slope is that of a reading over the root of the sum of squared times (GUM H.3.3).
    """
    by_level = reading_u / sqrt(rate.sum_tt)
    scatter = rate.standard_error or 0.0
    return Uncertain(rate.ml_per_h, {"rate": scatter} if scatter > by_level else {"level": by_level})


def pot_figures(forecast: PotForecast | None, rate: Rate | None, vessel: Vessel | None) -> dict[str, Figure]:
    """The figures of a pot, with how sure they are once its rate was read."""
    found = dict(forecast.figures()) if forecast else {}
    if rate is None:
        return found
    area = pot_area_cm2(vessel.diameter_cm) if vessel and vessel.diameter_cm else None
    tools, now_ml = in_use(), forecast.now_ml if forecast else 0.0
    now_u = tools.level_u(area) if area else tools.volume_u(now_ml)
    lost = rate_sure(rate, now_u)
    shown = found | with_all(rate.figures(), {"ml_per_h": lost})
    if forecast is None or rate.ml_per_h <= 0:
        return shown
    try:
        sure = until(now=Known(forecast.now_ml, now_u), rate=lost, target_ml=forecast.target_ml)
    except OutOfRange:
        return shown
    return with_all(shown, sure) | {"ml_per_h": shown["ml_per_h"]}
