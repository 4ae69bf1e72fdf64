"""Lines of places in a TOML text.

The standard reader of TOML keeps no positions, so a second parser looks for them. It is asked
only when there is a problem to be shown, and it never judges: whether a text is right is the
standard reader's business.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tree_sitter import Node

Path = tuple[str | int, ...]
"""Place in the tables: ("step", 2, "limits", "power", "max")."""


class Lines:
    """The line of every key, table and list entry of a text."""

    def __init__(self, text: str) -> None:
        self._lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        for node in _root(text).children:
            if node.type == "pair":
                self._pair(node, ())
            elif node.type in ("table", "table_array_element"):
                self._table(node)

    def line(self, path: Path) -> int | None:
        """Line of a place, counted from 1; of the nearest place around it where it is absent.

        Returns:
            None where not even the outermost part is in the text.
        """
        for length in range(len(path), 0, -1):
            line = self._lines.get(path[:length])
            if line is not None:
                return line
        return None

    def _table(self, node: Node) -> None:
        keys = [child for child in node.named_children if child.type.endswith("_key")]
        if not keys:
            return  # a heading that the parser could not take apart
        parts = _parts(keys[0])
        path: Path = ()
        for part in parts[:-1]:
            path = (*path, part)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        path = (*path, parts[-1])
        self._record(path, keys[0])
        if node.type == "table_array_element":
            count = self._counts.get(path, 0)
            self._counts[path] = count + 1
            path = (*path, count)
            self._record(path, keys[0])
        for child in node.named_children:
            if child.type == "pair":
                self._pair(child, path)

    def _pair(self, node: Node, table: Path) -> None:
        """Enter a pair and all that its value holds; a stack, since values may nest deeply."""
        waiting = [(node, table)]
        while waiting:
            pair, around = waiting.pop()
            waiting.extend(self._one_pair(pair, around))

    def _one_pair(self, pair: Node, table: Path) -> Iterator[tuple[Node, Path]]:
        parts = [child for child in pair.named_children if child.type != "comment"]
        if len(parts) < 2:
            return
        path = table
        for part in _parts(parts[0]):
            path = (*path, part)
            self._record(path, parts[0])
        values = [(parts[-1], path)]
        while values:
            value, place = values.pop()
            if value.type == "inline_table":
                yield from ((each, place) for each in value.named_children if _is_pair(each))
            elif value.type == "array":
                entries = [each for each in value.named_children if each.type != "comment"]
                for index, entry in enumerate(entries):
                    self._record((*place, index), entry)
                    values.append((entry, (*place, index)))

    def _record(self, path: Path, node: Node) -> None:
        self._lines.setdefault(path, node.start_point[0] + 1)


def _root(text: str) -> Node:
    import tree_sitter_toml
    from tree_sitter import Language, Parser

    parser = Parser(Language(tree_sitter_toml.language()))
    return parser.parse(text.encode("utf-8", "replace")).root_node


def _is_pair(node: Node) -> bool:
    return node.type == "pair"


def _parts(key: Node) -> list[str]:
    """The parts of a key; escapes in quoted keys stay as they are written."""
    parts: list[str] = []
    waiting = [key]
    while waiting:
        node = waiting.pop()
        if node.type == "dotted_key":
            waiting.extend(reversed(node.named_children))
        else:
            text = (node.text or b"").decode()
            parts.append(text[1:-1] if node.type == "quoted_key" else text)
    return parts
