"""What is wrong with a page: by the parser of the HTML standard, and by the checker of its makers.

html5lib implements the parsing of the HTML Living Standard (section 13.2) and names every parse
error. The checker, vnu, needs Java and is asked where the machine has it: as the command `vnu`, or
as the file that the environment variable VNU_JAR names. It knows the whole standard and ARIA in
HTML, of which a part is looked for here without it: an element that is given the role it has.
"""

import os
import shutil
import subprocess
from html.parser import HTMLParser

import html5lib

OWN_ROLES = {
    "a": "link", "button": "button", "dialog": "dialog", "h2": "heading", "h3": "heading",
    "li": "listitem", "main": "main", "nav": "navigation", "ol": "list", "table": "table",
    "tbody": "rowgroup", "td": "cell", "thead": "rowgroup", "tr": "row", "ul": "list",
}  # ARIA in HTML, section 4, rows of these elements  # fmt: skip


class _Roles(HTMLParser):
    """Elements whose role says what they are anyway, and every `id` with how often it stands."""

    def __init__(self, text):
        super().__init__()
        self.needless, self.ids = [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        role = given.get("role")
        if role and (role == OWN_ROLES.get(tag) or tag in ("th", "td", "tr")):
            self.needless.append((tag, role))
        if "id" in given:
            self.ids.append(given["id"])


def faults_of(text):
    """What is wrong with a page: an empty list where nothing is."""
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    parser.parse(text)
    found = _Roles(text)
    twice = {name for name in found.ids if found.ids.count(name) > 1}
    return [*parser.errors, *found.needless, *sorted(twice)]


def checker():
    """The command that runs the checker, or none."""
    jar = os.environ.get("VNU_JAR")
    if jar and shutil.which("java"):
        return ["java", "-jar", jar]
    return [found] if (found := shutil.which("vnu")) else None


def errors_of(paths):
    """The checker's errors in pages, by line and column, which are none where all is well."""
    asked = [*checker(), "--errors-only", *map(str, paths)]
    return subprocess.run(asked, check=False, capture_output=True, text=True).stderr.splitlines()
