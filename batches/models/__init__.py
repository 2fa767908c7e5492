"""The tables of making: formulas, batches and their stages, readings, vessels, bottling runs."""

from batches.models.batches import Batch, BatchLot, Stage, StageAct
from batches.models.bottling import BottlingRun, LabelPrint
from batches.models.formulas import Formula, FormulaPart, FormulaStage, FormulaVersion
from batches.models.learning import DropCount, Judgement
from batches.models.readings import Reading
from batches.models.vessels import Occupancy, Vessel

__all__ = [
    "Batch",
    "BatchLot",
    "BottlingRun",
    "DropCount",
    "Formula",
    "FormulaPart",
    "FormulaStage",
    "FormulaVersion",
    "Judgement",
    "LabelPrint",
    "Occupancy",
    "Reading",
    "Stage",
    "StageAct",
    "Vessel",
]
