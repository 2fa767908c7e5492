"""The density polynomial of ethanol-water mixtures: OIML R 22 (1975), the formula of its section 4.

Also Annex, section 4 of Council Directive 76/766/EEC. Coefficients stand highest power first, ready
for Horner. Two misprints circulate: C1,1 as 1.693433... and C2,3 ending in ...536933; both are
wrong (right: 1.693443..., ...536993).
"""

from __future__ import annotations

# Powers of p, 11 down to 1, then the constant.
A = (
    -3.903285426e4,
    2.234460334e5,
    -5.478461354e5,
    7.470172998e5,
    -6.138381234e5,
    3.062874042e5,
    -8.829278388e4,
    1.352215441e4,
    -1.668103923e3,
    3.891238958e2,
    -1.929769495e2,
    9.982012300e2,
)
# Powers of (t - 20), 6 down to 1.
B = (-9.9739231e-11, 7.1693540e-9, -3.8957702e-7, 3.6130013e-5, -5.2682542e-3, -2.0618513e-1)
# C[i]: powers of p, highest down to 1, belonging to (t - 20) ** (i + 1).
C = (
    (
        1.285617841998974e3,
        -7.420201433430137e3,
        1.852373922069467e4,
        -2.605562982188164e4,
        2.248646550400788e4,
        -1.210164659068747e4,
        3.924090430035045e3,
        -7.047478054272792e2,
        7.196353469546523e1,
        -1.046914743455169e1,
        1.693443461530087e-1,
    ),
    (
        7.442971530188783,
        -4.414153236817392e1,
        1.080435942856230e2,
        -1.422753946421155e2,
        1.096355666577570e2,
        -5.029988758547014e1,
        1.353034988843029e1,
        -2.170575700536993,
        2.517399633803461e-1,
        -1.193013005057010e-2,
    ),
    (
        -5.411227621436812e-1,
        2.458043105903461,
        -4.672147440794683,
        4.810060584300675,
        -2.895696483903638,
        1.022992966719220,
        -2.002561813734156e-1,
        1.876837790289664e-2,
        -6.802995733503803e-4,
    ),
    (-1.515784836987210e-6, 6.515031360099368e-6, -8.763058573471110e-6, 4.075376675622027e-6),
    (1.345612883493354e-8, -2.788074354782409e-8),
)


def _horner(coefficients: tuple[float, ...], x: float) -> float:
    total = 0.0
    for coefficient in coefficients:
        total = total * x + coefficient
    return total


def polynomial(p: float, celsius: float) -> float:
    """Density in kg/m3 at mass fraction `p` and `celsius`, with no check of the range."""
    dt = celsius - 20.0
    if dt == 0.0:
        return _horner(A, p)
    mixed = 0.0
    for row in reversed(C):
        mixed = (mixed + p * _horner(row, p)) * dt
    return _horner(A, p) + dt * _horner(B, dt) + mixed
