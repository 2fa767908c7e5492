"""The Reckoner: every calculation usable alone, by its own name, on a screen and from the command line.

A new one is a `Calculation` in one of the modules here and its line in `CALCULATIONS`; screen, command and
index follow from it.
"""

from batches.calc.reckoner.base import (
    MEASURE,
    Calculation,
    Carry,
    Change,
    Field,
    Kind,
    Reckoned,
    Value,
    Values,
    changes,
    inputs_of,
)
from batches.calc.reckoner.bottle import DOSES, FILL
from batches.calc.reckoner.flow import PERCOLATION, POT
from batches.calc.reckoner.herb import BACKWARDS, FRESH, RATIO
from batches.calc.reckoner.keeps import KEEPING
from batches.calc.reckoner.pour import COMBINE
from batches.calc.reckoner.spirit import DILUTE, MAKE_UP, PROOF, READING

CALCULATIONS: dict[str, Calculation] = {
    one.name: one
    for one in (
        DILUTE,
        COMBINE,
        MAKE_UP,
        READING,
        FRESH,
        RATIO,
        PERCOLATION,
        POT,
        KEEPING,
        DOSES,
        FILL,
        BACKWARDS,
        PROOF,
    )
}

__all__ = [
    "CALCULATIONS",
    "MEASURE",
    "Calculation",
    "Carry",
    "Change",
    "Field",
    "Kind",
    "Reckoned",
    "Value",
    "Values",
    "changes",
    "inputs_of",
]
