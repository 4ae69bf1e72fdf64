"""Units under test from TOML, and back."""

from __future__ import annotations

from pathlib import Path
from types import MappingProxyType

import msgspec

from stepwise.bench import RATINGS, Claim, Unit
from stepwise.procedure.locate import Path as Place
from stepwise.procedure.models import ClaimFields, RatingsFields, UnitFile, UnitHead
from stepwise.procedure.problems import Problems
from stepwise.procedure.quantity_fields import positive
from stepwise.procedure.shape import check_shape, entries, placed, sound_part
from stepwise.procedure.source import Source, parse_source, read_source
from stepwise.procedure.toml_text import quantity_text, toml_text


def read_unit(path: Path | str) -> Unit:
    """Read a unit.

    Args:
        path: A TOML file.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _unit(read_source(Path(path)))


def read_unit_text(text: str, path: Path | str) -> Unit:
    """Read a unit from its text.

    Args:
        text: The TOML text.
        path: Where it came from, for sentences about it; it need not exist.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _unit(parse_source(text, Path(path)))


def unit_to_toml(unit: Unit) -> str:
    """A unit as the TOML text that reads back as the same unit."""
    ratings = {name: quantity_text(value, RATINGS[name]) for name, value in unit.ratings.items()}
    fields = UnitFile(
        unit=UnitHead(
            name=unit.name,
            channels=unit.channels,
            serial=unit.serial,
            price=unit.price,
            remarks=unit.remarks,
        ),
        ratings=msgspec.convert(ratings, RatingsFields),
        claim=tuple(
            ClaimFields(
                power=quantity_text(claim.power, "W"),
                load=None if claim.load is None else quantity_text(claim.load, "ohm"),
                distortion=(
                    None if claim.distortion is None else quantity_text(claim.distortion, "%")
                ),
            )
            for claim in unit.claims
        ),
    )
    return toml_text(msgspec.to_builtins(fields))


def _unit(source: Source) -> Unit:
    out, data = Problems(source), source.data
    check_shape(UnitFile, data, (), out)
    head = sound_part(UnitHead, data.get("unit"), ("unit",), out, {"name": "unnamed"})
    if head is not None:
        _check_channels(head.channels, out)
    stated = sound_part(RatingsFields, data.get("ratings", {}), ("ratings",), out)
    ratings = _ratings(stated or RatingsFields(), out)
    claims = [
        _claim(claim, at, out)
        for at, each in entries(data, "claim")
        if (claim := sound_part(ClaimFields, each, at, out, {"power": "1 W"})) is not None
    ]
    out.raise_if_any()
    head = msgspec.convert(data["unit"], UnitHead)
    return Unit(
        name=head.name,
        channels=head.channels,
        ratings=MappingProxyType(ratings),
        claims=tuple(claims),
        serial=head.serial,
        price=head.price,
        remarks=head.remarks,
    )


def _check_channels(channels: tuple[str, ...], out: Problems) -> None:
    seen: set[str] = set()
    for at, channel in placed(channels, ("unit", "channels"), out):
        # "/" parts the places of a prompt's key, and a line break would break a table.
        if "/" in channel or "\n" in channel or channel != channel.strip():
            out.add(at, f"“{channel}” is no name for a channel", "write a word, such as left")
        if channel in seen:
            out.add(at, f"“{channel}” stands twice", "name each channel once")
        seen.add(channel)


def _ratings(fields: RatingsFields, out: Problems) -> dict[str, float]:
    found: dict[str, float] = {}
    for name, unit in RATINGS.items():
        value = positive(getattr(fields, name), unit, ("ratings", name), out)
        if value is not None:
            found[name] = value
    lowest, highest = found.get("minimum_load"), found.get("maximum_load")
    if lowest is not None and highest is not None and lowest > highest:
        out.add(("ratings", "maximum_load"), "is below minimum_load", "swap the two")
    return found


def _claim(fields: ClaimFields, at: Place, out: Problems) -> Claim:
    power = positive(fields.power, "W", (*at, "power"), out)
    load = positive(fields.load, "ohm", (*at, "load"), out)
    distortion = positive(fields.distortion, "%", (*at, "distortion"), out)
    if distortion is not None and distortion > 100.0:
        out.add((*at, "distortion"), "is above 100 %", "give what the seller says")
    # A power that cannot be read is among the problems, so that this claim is never used.
    return Claim(power or 0.0, load, distortion)
