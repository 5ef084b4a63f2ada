"""Write what the manual tells of messages and public names: `python make_manual.py`.

Both are read from the source, where they stand; `test_manual_data.py` says when they are to be
written again.
"""

import json
from pathlib import Path

from messages_in_source import messages_in_source
from names_in_source import names_in_source

import stopgap

DATA = Path(stopgap.__file__).parent / "manual" / "data"


def made():
    """The text of each file, by its name: a message a line, so that few changes meet."""
    told = ([each.room, each.text, *each.remedies] for each in messages_in_source())
    lines = ",\n".join(json.dumps(row, ensure_ascii=False) for row in told)
    return {"messages.json": f"[\n{lines}\n]\n", "names.txt": names_in_source()}


if __name__ == "__main__":
    for name, text in made().items():
        (DATA / name).write_text(text, encoding="utf-8", newline="\n")
