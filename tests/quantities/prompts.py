"""Prompts that a typed text is held against."""

from __future__ import annotations

from stepwise.quantities import Answer, Expected, Form

AC = Expected(Answer.QUANTITY, "V", Form.RMS, meter="ac", ranges=(0.1, 0.3, 1.0, 3.0, 10.0, 30.0))
FLATTENED = Expected(Answer.QUANTITY, "V", Form.RMS, ranges=AC.ranges, is_sine=False)
AC_ANY = Expected(Answer.QUANTITY, "V", Form.RMS)
PEAK = Expected(Answer.QUANTITY, "V", Form.PEAK)
PEAK_TO_PEAK = Expected(Answer.QUANTITY, "V", Form.PEAK_TO_PEAK)
DC = Expected(Answer.QUANTITY, "V", Form.DC)
DC_MILLI = Expected(Answer.QUANTITY, "mV", Form.DC)
AMPERES = Expected(Answer.QUANTITY, "A", Form.DC)
WATTS = Expected(Answer.QUANTITY, "W")
OHMS = Expected(Answer.QUANTITY, "ohm")
HERTZ = Expected(Answer.QUANTITY, "Hz")
FARADS = Expected(Answer.QUANTITY, "F")
SECONDS = Expected(Answer.QUANTITY, "s")
CELSIUS = Expected(Answer.QUANTITY, "C")
LEVEL = Expected(Answer.LEVEL, "dB", reference_volts=20.0, ranges=(1.0, 3.0, 10.0))
LEVEL_FIRST = Expected(Answer.LEVEL, "dB")
SHARE = Expected(Answer.SHARE, "%")
HEAT = Expected(Answer.HEAT, "C")
MARK = Expected(Answer.MARK)
CONFIRM = Expected(Answer.CONFIRM)
TEXT = Expected(Answer.TEXT)
