"""The notebooks run from top to bottom, say what they promise, and carry no stale output."""

import ast
import json
from itertools import pairwise
from pathlib import Path

import colour
import nbformat
import pytest
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell

pytestmark = pytest.mark.slow

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def run(name, ask):
    """The notebook, executed with a last cell that prints the value of `ask`, and that value."""
    notebook = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)
    notebook.cells.append(new_code_cell(f"import json; print(json.dumps({ask}))"))
    NotebookClient(notebook, timeout=120, kernel_name="python3").execute(cwd=str(FOLDER))
    printed = (output["text"] for output in notebook.cells[-1].outputs if "text" in output)
    return notebook, json.loads("".join(printed))  # a busy kernel sends one text in several pieces


def shown(notebook, kind):
    """How many cells show a picture, or an answer as its sheet would."""
    mark = {"picture": "image/png", "answer": "text/html"}[kind]
    return sum(
        mark in output.get("data", {})
        and (kind == "picture" or 'class="stopgap ' in output["data"][mark])
        for cell in notebook.cells
        if cell.cell_type == "code"
        for output in cell.outputs
    )


def delta_E(lab_1, lab_2):
    """CIEDE2000 by colour-science."""
    return float(colour.delta_E(lab_1, lab_2, method="CIE 2000"))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_only_what_everybody_has_is_imported(path):
    notebook = nbformat.read(path, as_version=4)
    code = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "code")
    named = [
        (node.names[0].name if isinstance(node, ast.Import) else node.module).partition(".")[0]
        for node in ast.walk(ast.parse(code))
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    assert set(named) <= {"stopgap", "pandas", "matplotlib"}
    assert "import stopgap\n" in code
    assert "from stopgap" not in code


def test_there_are_four():
    assert len(NOTEBOOKS) == 4


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_committed_without_outputs_from_a_question_to_a_task(path):
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None
    assert notebook.cells[0].source.splitlines()[0].endswith("?")
    assert notebook.cells[-1].source.startswith("## Try this")


def test_stand_ins_and_layering():
    ask = "[asked.lab, single.swatch.lab, single.delta_E, best.lab, best.delta_E]"
    notebook, (asked, one, one_delta_E, two, two_delta_E) = run("stand_ins_and_layering", ask)
    assert (shown(notebook, "picture"), shown(notebook, "answer")) == (1, 3)
    assert one_delta_E == pytest.approx(delta_E(asked, one), abs=1e-6)
    assert two_delta_E == pytest.approx(delta_E(asked, two), abs=1e-6)
    assert one_delta_E > 10.0  # datasets/README.md: none within 10 ΔE00; two pencils help
    assert two_delta_E < 3.5  # close, the first of the two laid light or medium


def test_families_blends_and_gaps():
    ask = (
        "[[p.lab for p in of_the_box.points], of_the_box.largest_step, "
        "of_all.largest_step, len(gaps)]"
    )
    notebook, (labs, box, every, gaps) = run("families_blends_and_gaps", ask)
    assert (shown(notebook, "picture"), shown(notebook, "answer")) == (1, 3)
    steps = [delta_E(one, other) for one, other in pairwise(labs)]
    assert box == pytest.approx(max(steps), abs=1e-6)
    assert gaps == sum(step > 12.0 for step in steps) > 0
    assert every < box


def test_from_list_to_shopping_list():
    ask = (
        "[plan.status, plan.cost, plan.bound, [p.swatch.price for p in plan.buy], "
        "[[p.lab for p in n.after.blend.points] + [n.need.step] for n in plan.needs], "
        "[[r.asked.lab, r.given.lab, r.delta_E, r.given.label] for r in translation.rows]]"
    )
    notebook, (status, cost, bound, prices, blends, rows) = run("from_list_to_shopping_list", ask)
    assert (shown(notebook, "picture"), shown(notebook, "answer")) == (1, 2)
    assert status == "optimal"
    assert cost == pytest.approx(sum(prices)) == pytest.approx(bound)
    for *labs, limit in blends:
        assert max(delta_E(one, other) for one, other in pairwise(labs)) <= limit
    assert len({label for *_, label in rows}) == len(rows) == 14
    for asked, given, stated, _ in rows:
        assert stated == pytest.approx(delta_E(asked, given), abs=1e-6)


def test_from_scan_to_shopping_list():
    ask = (
        "[both[['L', 'a', 'b', 'L_file', 'a_file', 'b_file', 'delta_E']].values.tolist(), "
        "[plan.status, plan.cost, plan.bound], "
        "[[n.need.target.lab, n.after.laid.lab, n.after.delta_E] for n in plan.needs]]"
    )
    notebook, (rows, (status, cost, bound), needs) = run("from_scan_to_shopping_list", ask)
    assert (shown(notebook, "picture"), shown(notebook, "answer")) == (1, 2)
    assert len(rows) == 8
    for *labs, stated in rows:
        assert stated == pytest.approx(delta_E(labs[:3], labs[3:]), abs=1e-6)
    assert (status, cost) == ("optimal", pytest.approx(bound))
    for asked, laid, stated in needs:
        assert stated == pytest.approx(delta_E(asked, laid), abs=1e-6)
        assert stated <= 8.0
