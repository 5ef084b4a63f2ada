"""Templates filled in; whatever text they are given is escaped.

Templates, styles and script are put together under a strict policy, which admits this one style and
script, by their hashes, and no connection, image, frame or form.
"""

from base64 import b64encode
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stopgap.reports.blocks import Chip, Column, Grid
from stopgap.reports.text import harmless

if TYPE_CHECKING:
    from jinja2 import Environment


_LONGEST = 2000
_COMPACT_COLUMNS = 4
_SHORT, _BRIEF = 16, 8  # characters of the longest word of a cell, and of the whole


def page(
    template: str,
    *,
    styles: str,
    script: str = "",
    pictures: bool = False,
    **context: Any,
) -> str:
    """A template filled in; whatever text it is given is escaped and cannot steer the page."""
    from markupsafe import Markup

    return (
        _environment()
        .get_template(template)
        .render(
            policy=policy_of(styles, script, pictures=pictures),
            # ours, or made of numbers: never of anybody's text
            styles=Markup(styles),
            script=Markup(script),
            **context,
        )
    )


@cache
def _environment() -> "Environment":
    """The templates, each of which is read and compiled once."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("stopgap.reports"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        undefined=StrictUndefined,
        finalize=_plain,
    )
    environment.tests["compact"] = _is_compact
    environment.filters |= {"codes": _codes, "kinds": _kinds}
    return environment


def source(name: str) -> str:
    """A style or script of the package."""
    return (Path(__file__).parents[1] / "templates" / name).read_text(encoding="utf-8")


def _plain(value: Any) -> Any:
    """Text without control or direction characters; what is marked safe passes."""
    if type(value) is str or (isinstance(value, str) and not hasattr(value, "__html__")):
        return harmless(value, _LONGEST)
    return value


def _codes(text: str) -> str:
    """Codes joined by + and :, behind each of which a line may end."""
    from markupsafe import Markup, escape

    return Markup(str(escape(_plain(text))).replace("+", "+<wbr>").replace(":", ":<wbr>"))


def _kinds(text: str, column: Column, last: bool) -> str:
    """What the style knows of a cell by its text and its place, each with a space behind it."""
    kinds = {
        "short": max(map(len, text.split()), default=0) < _SHORT,
        "number": column.number,
        "brief": len(text) < _BRIEF,
        "titled": bool(column.title) and not last,
    }
    return "".join(f"{kind} " for kind, is_so in kinds.items() if is_so)


def policy_of(styles: str, script: str, *, pictures: bool) -> str:
    """The content security policy of a page that loads and sends nothing."""
    parts = ["default-src 'none'", f"style-src {digest(styles)}"]
    if script:
        parts.append(f"script-src {digest(script)}")
    if pictures:  # those in the page itself
        parts.append("img-src data:")
    return "; ".join([*parts, "base-uri 'none'", "form-action 'none'"])


def digest(text: str) -> str:
    """How a policy names a style or script that it admits."""
    return f"'sha256-{b64encode(sha256(text.encode('utf-8')).digest()).decode('ascii')}'"


def _is_compact(grid: Grid) -> bool:
    """Whether the rows are one chip and little text."""
    firsts = [row[0] for row in grid.rows]
    single = all(isinstance(first, Chip) and len(first.labs) == 1 for first in firsts)
    return single and len(grid.columns) <= _COMPACT_COLUMNS
