"""Sheets that go out blank and come back filled in: measuring, the calibrator's, the scrutineer's.

What comes back is read as data, judged as a whole, and written only when nothing is wrong with it.
"""

from drybuild.examine.sheets.calibrator import CalibratorSheet, calibrator_sheet
from drybuild.examine.sheets.form import FormRefused, calibrator_form, measuring_form
from drybuild.examine.sheets.measuring import Asked, Sheet, measuring_sheets
from drybuild.examine.sheets.scrutineer import Look, Side, scrutineer_side
from drybuild.examine.sheets.taking_in import TakenIn, take_in

__all__ = [
    "Asked",
    "CalibratorSheet",
    "FormRefused",
    "Look",
    "Sheet",
    "Side",
    "TakenIn",
    "calibrator_form",
    "calibrator_sheet",
    "measuring_form",
    "measuring_sheets",
    "scrutineer_side",
    "take_in",
]
