"""Values: numbers with their doubt, from text to columns of draws and back to words.

Importing this package loads neither the units library nor any statistics library; both come on
first use. The pydantic field types are in ``drybuild.values.types``.
"""

from drybuild.values.curve import Curve, DrawnCurve, parse_curve
from drybuild.values.dash import dash_bores
from drybuild.values.draws import Draws
from drybuild.values.effects import Shares, shares, shares_many
from drybuild.values.errors import (
    AmbiguousUnit,
    CurveFault,
    DashSizeFault,
    DrybuildError,
    Fault,
    MethodFault,
    UnitFault,
    ValueFault,
)
from drybuild.values.formatting import (
    MINUS,
    System,
    band_text,
    figures,
    fixed_unit,
    number_of,
    short_text,
    show,
    show_number,
    show_numbers,
    show_value,
    shown_unit,
    stepped,
    to_unit,
    unsigned,
    with_minus,
    written,
)
from drybuild.values.kinds import KINDS, Kind, kind_named
from drybuild.values.methods import METHODS, Method, method_named, methods_for
from drybuild.values.parse import method_doubt, parse_value
from drybuild.values.statistics import (
    chance,
    deviation,
    effective_size,
    interval,
    joint_chance,
    mean,
    quantile,
    quantiles,
    reweight,
    shortest_interval,
    summary,
    worst_along,
)
from drybuild.values.text import typed_number, typed_whole, with_point
from drybuild.values.units import Unit, unit_of
from drybuild.values.value import Array, HowKnown, Value

__all__ = [
    "KINDS",
    "METHODS",
    "MINUS",
    "AmbiguousUnit",
    "Array",
    "Curve",
    "CurveFault",
    "DashSizeFault",
    "DrawnCurve",
    "Draws",
    "DrybuildError",
    "Fault",
    "HowKnown",
    "Kind",
    "Method",
    "MethodFault",
    "Shares",
    "System",
    "Unit",
    "UnitFault",
    "Value",
    "ValueFault",
    "band_text",
    "chance",
    "dash_bores",
    "deviation",
    "effective_size",
    "figures",
    "fixed_unit",
    "interval",
    "joint_chance",
    "kind_named",
    "mean",
    "method_doubt",
    "method_named",
    "methods_for",
    "number_of",
    "parse_curve",
    "parse_value",
    "quantile",
    "quantiles",
    "reweight",
    "shares",
    "shares_many",
    "short_text",
    "shortest_interval",
    "show",
    "show_number",
    "show_numbers",
    "show_value",
    "shown_unit",
    "stepped",
    "summary",
    "to_unit",
    "typed_number",
    "typed_whole",
    "unit_of",
    "unsigned",
    "with_minus",
    "with_point",
    "worst_along",
    "written",
]
