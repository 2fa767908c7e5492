"""Results on dose, rinse, obscuration, filling, parts and cost whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.altitude import boiling_here
from batches.calc.combine import in_parts, landing, least_tincture, total_by_share
from batches.calc.costing import bottle_cost
from batches.calc.dose import calibrate_drops, calibration, estimate_drops, ethanol_in_dose
from batches.calc.fill import Size, fill_sizes
from batches.calc.intake import daily_intake
from batches.calc.obscuration import dry_residue, from_residue_density, obscured
from batches.calc.result import Result
from batches.calc.rinse import rinses


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    return [
        *rinses(tincture_ml=868, abv=59.09, herb_g=200, retained_ml=147.2),
        calibration([calibrate_drops(count=50, mass_g=m, density_g_ml=0.94805) for m in (1.085, 1.02, 1.11)]),
        estimate_drops(abv=40),
        ethanol_in_dose(dose_ml=2, abv=30),
        dry_residue(sample_ml=50, dish_g=40.0, dried_g=41.05),
        obscured(apparent=34.9, residue_g_l=20),
        from_residue_density(sample=955.75, residue=1005.9),
        fill_sizes(volume_ml=2100, sizes=[Size(50, 0.5, 10), Size(100, 0.8), Size(30)], loss=0.02),
        landing(tincture_ml=300, abv=60, extract_ml=420),
        in_parts(tincture_share=0.3, abv=95),
        least_tincture(abv=40, target=25),
        total_by_share(extract_ml=1183, extract_share=0.7),
        bottle_cost(
            herb=12, spirit=20, energy=1.5, labour=30, overhead=5, bottles=33, packaging=1.1, money="EUR"
        ),
        boiling_here(metres=1524),
        daily_intake(mg_per_kg=1, ml_a_day=6, herb_mg_per_ml=200),
    ]
