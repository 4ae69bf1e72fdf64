"""Where files lie: the working folder first, then the person's own, then what is shipped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from stepwise.errors import FileProblems, Problem, did_you_mean


@dataclass(frozen=True, slots=True)
class Shelved:
    """A file found on the shelf."""

    name: str
    """Stem of the file; what people type."""
    path: Path
    shipped: bool = False
    """Whether it came with the program."""


def procedures_folder() -> Path:
    """The folder of the shipped procedures: inside an installed package, else beside it."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "procedures"
    return inside if inside.is_dir() else package.parent / "procedures"


def list_procedures() -> tuple[Shelved, ...]:
    """Every procedure that a name finds, by name; nearer ones hide those behind them."""
    return _listed("procedures", procedures_folder())


def list_units() -> tuple[Shelved, ...]:
    """Every unit that a name finds, by name."""
    return _listed("units", None)


def list_benches() -> tuple[Shelved, ...]:
    """Every bench that a name finds, by name."""
    return _listed("benches", None)


def find_procedure(name_or_path: str) -> Path:
    """The file of a procedure.

    Args:
        name_or_path: A name such as "first-look", looked for in ./procedures, the person's
            own folder and among the shipped ones; or a path, which has a separator or ends in
            ".toml".

    Raises:
        FileProblems: There is none; the nearest name that is known is told.
    """
    return _find(name_or_path, "procedure", list_procedures())


def find_unit(name_or_path: str) -> Path:
    """The file of a unit, by name from ./units or the person's own folder, or by path.

    Raises:
        FileProblems: There is none.
    """
    return _find(name_or_path, "unit", list_units())


def find_bench(name_or_path: str) -> Path:
    """The file of a bench, by name from ./benches or the person's own folder, or by path.

    Raises:
        FileProblems: There is none.
    """
    return _find(name_or_path, "bench", list_benches())


def own_folder(kind: str) -> Path:
    """The person's own folder for files of a kind; it need not exist.

    Args:
        kind: "procedures", "units" or "benches".
    """
    from platformdirs import user_data_path

    return user_data_path("stepwise", appauthor=False) / kind


def _listed(kind: str, shipped: Path | None) -> tuple[Shelved, ...]:
    found: dict[str, Shelved] = {}
    for folder in (Path(kind), own_folder(kind)):
        for path in _files(folder):
            found.setdefault(path.stem, Shelved(path.stem, path))
    if shipped is not None:
        for path in _files(shipped):
            found.setdefault(path.stem, Shelved(path.stem, path, shipped=True))
    # The working folder may be the checkout, whose procedures are the shipped ones.
    return tuple(
        Shelved(each.name, each.path, shipped is not None and _is_in(each.path, shipped))
        for each in sorted(found.values(), key=lambda each: each.name)
    )


def _is_in(path: Path, folder: Path) -> bool:
    return path.resolve().parent == folder.resolve()


def _files(folder: Path) -> Iterator[Path]:
    try:
        entries = sorted(folder.iterdir())
    except OSError:
        return  # a folder that is not there, or not ours to read, holds nothing for us
    for path in entries:
        if path.suffix == ".toml" and not path.name.startswith(".") and path.is_file():
            yield path


def _find(text: str, kind: str, known: tuple[Shelved, ...]) -> Path:
    """Names are looked up in lists of what is there, so no name can lead out of a folder."""
    wanted = text.strip()
    if _is_path(wanted):
        path = Path(wanted)
        try:
            is_there = path.is_file()
        except (OSError, ValueError):
            is_there = False  # too long a name, or one that the system cannot hold
        if is_there:
            return path
        # Which of the kinds a path was meant to be is not known, so no list of names helps.
        names = [each.name for each in known]
        remedy = did_you_mean(path.stem, names, "see that the path is right")
        what = "there is no such file"
        raise FileProblems((Problem(path, None, "", what, remedy),))
    for each in known:
        if each.name == wanted:
            return each.path
    what = f"no {kind} is called that"
    raise FileProblems((Problem(Path(wanted), None, "", what, _known(wanted, kind, known)),))


def _is_path(text: str) -> bool:
    return "/" in text or "\\" in text or text.lower().endswith(".toml")


def _known(wanted: str, kind: str, known: tuple[Shelved, ...]) -> str:
    if not known:
        return f"give the path of the {kind}’s TOML file"
    return did_you_mean(wanted, [each.name for each in known])
