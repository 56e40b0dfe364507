"""What keeps a text from being YAML, in words that say what to write."""

from __future__ import annotations

import yaml

MOVED = "look at how far this line and the one before are moved in"
WORDS = {
    "did not find expected '-' indicator": f"an entry of the list must begin with `- ` here; {MOVED}",
    "did not find expected key": f"a `name: value` must begin here; {MOVED}, and at quotation marks",
    "did not find expected ',' or ']'": "a comma or the closing `]` of the list is missing",
    "did not find expected ',' or '}'": "a comma or the closing `}` is missing",
    "did not find expected node content": "a bracket is open and its content or its end is missing",
    "mapping values are not allowed in this context": (
        f"no `name: value` may stand here; put text that has a colon in quotes, or {MOVED}"
    ),
    "block sequence entries are not allowed in this context": f"no `- ` may stand here; {MOVED}",
    "could not find expected ':'": "a colon is missing: write `name: value`",
    "found unexpected end of stream": "a quotation mark is opened and never closed",
    "found character that cannot start any token": (
        "no value may begin with this character: put it in quotes, and move lines in with spaces, not tabs"
    ),
    "found unknown escape character": "`\\` means something else inside double quotes: write it twice",
    "found undefined alias": "a value that begins with `*` needs quotes",
    "but found another document": "a second document begins here: keep one in a file, without `---`",
    "control characters are not allowed": "a control character stands here: take it out",
}
OTHERWISE = f"this cannot be read as YAML; look at quotation marks, brackets and colons, and {MOVED[8:]}"


def in_words(error: yaml.YAMLError, text: str) -> tuple[int, str]:
    """The line (from 1) at which a text stops being YAML, and what to write instead."""
    if isinstance(error, yaml.MarkedYAMLError):
        told = WORDS.get(error.problem or "", OTHERWISE)
        begun, stopped = error.context_mark, error.problem_mark or error.context_mark
        if stopped is None:
            return 1, told
        if begun is not None and begun.line < stopped.line:
            told += f" (in what begins on line {begun.line + 1})"
        return stopped.line + 1, f"not YAML from column {stopped.column + 1} on: {told}"
    position, reason = getattr(error, "position", 0), getattr(error, "reason", "")
    return text.encode().count(b"\n", 0, position) + 1, f"not YAML: {WORDS.get(reason, OTHERWISE)}"
