"""Bench notation, units, uncertainty, and the printing of figures.

What is typed comes in by `parse_entry`, what a file states by `parse_quantity`; figures go out
by `format_value` and `format_uncertain`, for every front end alike. Pure functions and frozen
values. Importing this room brings in neither numpy nor pint.
"""

from stepwise.quantities.coverage import COVERAGE_PROBABILITY, student_factor
from stepwise.quantities.dimension import check_dimension
from stepwise.quantities.entry import example, parse_entry
from stepwise.quantities.expected import Answer, Expected, Form, Refusal, Understood
from stepwise.quantities.expression import Expression, compile_expression
from stepwise.quantities.format import (
    NOT_A_FIGURE,
    format_estimate,
    format_number,
    format_uncertain,
    format_value,
)
from stepwise.quantities.quantity import Quantity, parse_quantity, require
from stepwise.quantities.signs import dotted, with_signs
from stepwise.quantities.touch import TOUCH
from stepwise.quantities.uncertain import (
    Source,
    Uncertain,
    correlation,
    covariance,
    exact,
    from_terms,
    last_digit,
    propagate,
    rectangular,
    resolution,
    within_limits,
)
from stepwise.quantities.units import convert, same_dimension, si_unit, spell

__all__ = [
    "COVERAGE_PROBABILITY",
    "NOT_A_FIGURE",
    "TOUCH",
    "Answer",
    "Expected",
    "Expression",
    "Form",
    "Quantity",
    "Refusal",
    "Source",
    "Uncertain",
    "Understood",
    "check_dimension",
    "compile_expression",
    "convert",
    "correlation",
    "covariance",
    "dotted",
    "exact",
    "example",
    "format_estimate",
    "format_number",
    "format_uncertain",
    "format_value",
    "from_terms",
    "last_digit",
    "parse_entry",
    "parse_quantity",
    "propagate",
    "rectangular",
    "require",
    "resolution",
    "same_dimension",
    "si_unit",
    "spell",
    "student_factor",
    "with_signs",
    "within_limits",
]
