"""Pages in one file: templates, styles and script put together under a strict policy.

Nothing is loaded from anywhere: the page's policy admits this one style and script, by their
hashes, and no connection, image, frame or form.
"""

from base64 import b64encode
from collections.abc import Callable, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Any

from stopgap.reports.text import harmless

_LONGEST = 2000


def page(
    template: str,
    *,
    styles: str,
    script: str = "",
    tests: Mapping[str, Callable[[Any], bool]] | None = None,
    **context: Any,
) -> str:
    """A template filled in; whatever text it is given is escaped and cannot steer the page."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("stopgap.reports"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        undefined=StrictUndefined,
        finalize=_plain,
    )
    environment.tests.update(tests or {})
    return environment.get_template(template).render(
        policy=_policy(styles, script),
        # ours, or made of numbers: never of anybody's text
        styles=Markup(styles),  # noqa: S704
        script=Markup(script),  # noqa: S704
        **context,
    )


def source(name: str) -> str:
    """A style or script of the package."""
    return (Path(__file__).parents[1] / "templates" / name).read_text(encoding="utf-8")


def _plain(value: Any) -> Any:
    """Text without control or direction characters; what is marked safe passes."""
    if isinstance(value, str) and not hasattr(value, "__html__"):
        return harmless(value, _LONGEST)
    return value


def _policy(styles: str, script: str) -> str:
    parts = ["default-src 'none'", f"style-src {_digest(styles)}"]
    if script:
        parts.append(f"script-src {_digest(script)}")
    return "; ".join([*parts, "base-uri 'none'", "form-action 'none'"])


def _digest(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode('utf-8')).digest()).decode('ascii')}'"
