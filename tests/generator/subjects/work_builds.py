"""A small build folder with a rule sheet, steps, orders and proof, for the tests of plan and evidence."""

from __future__ import annotations

import datetime
import hashlib
import io
from pathlib import Path

from PIL import Image

from buildspec.build import Build
from buildspec.read import read_folder
from generator.evaluation import Evaluation, evaluate, load_subjects

DAY = datetime.date(2026, 11, 25)
SUBJECTS = ("plan", "evidence")


def photo() -> bytes:
    sink = io.BytesIO()
    Image.new("RGB", (64, 48), (200, 60, 20)).save(sink, "JPEG")
    return sink.getvalue()


PHOTO, PULL = photo(), b"run,lbf\n1,1800\n2,1810\n"
FILES = {"proof/tabs.jpg": PHOTO, "proof/pull.csv": PULL, "proof/cut.jpg": PHOTO[:-40]}

# By hand, from a Wednesday. Kit works 7 hours a week, an hour a day; Lee 14, two a day.
#   cut  2 h, Kit:  days 0 to 2   Wed 11-25, Thu 11-26
#   weld 3 h, Kit:  days 2 to 5   after cut: Fri 11-27 to Sun 11-29
#   fit  2 h, Lee:  the belts are there at the end of 12-04, day 10: Sat 12-05
#   wire 8 h, Lee:  days 0 to 4   Wed 11-25 to Sat 11-28
# The last ends on 12-05, day 11; the event begins on 12-20, day 25: 14 days between.
TEXT = f"""format: 1
vehicle: {{name: Wren}}
event: {{name: Time trials, date: 2026-12-20}}
rules:
  sheets:
    - id: own
      title: Own sheet
      groups: [{{id: cage, title: Cage}}, {{id: wires, title: Wires}}]
      requirements:
        - id: belts
          group: cage
          title: Belts
          statement: The belts are held by welded tabs.
          attest: {{}}
          due: 2026-12-04
          steps:
            - {{id: plan, title: Draw the tabs, hours: 1, owner: kit, done: 2026-11-20}}
            - {{id: cut, title: Cut the tabs, hours: 2, owner: kit}}
            - {{id: weld, title: Weld the tabs, hours: 3, owner: kit, waits_for: [cut], evidence: [tabs]}}
            - {{id: fit, title: Fit the belts, hours: 2, owner: lee, waits_for: [weld, belts]}}
        - id: loop
          group: cage
          title: Tow loop
          statement: The loop holds.
          attest: {{}}
          evidence: [pull, card]
        - id: switch
          group: wires
          title: Switch
          statement: The switch is wired.
          attest: {{}}
          steps:
            - {{id: wire, title: Wire the switch, hours: 8, owner: lee, due: 2026-12-01}}
  people:
    - {{id: kit, name: Kit Ostrander, hours_a_week: 7}}
    - {{id: lee, name: Lee Byrne, hours_a_week: 14}}
  orders:
    - {{id: belts, title: Belts, expected: 2026-12-04, source: order 12}}
    - {{id: tires, title: Tires, expected: 2026-11-20}}
    - {{id: nets, title: Nets, expected: 2026-11-10, arrived: 2026-11-09}}
  evidence:
    - {{id: tabs, file: proof/tabs.jpg, proves: The tabs are welded., sha256: {hashlib.sha256(PHOTO).hexdigest()}, attested_by: Kit Ostrander, attested: 2026-11-21}}
    - {{id: pull, file: proof/pull.csv, proves: The loop held., sha256: {"f" * 64}, attested_by: Lee Byrne, attested: 2026-11-20}}
    - {{id: card, file: proof/card.jpg, proves: Who packed it.}}
    - {{id: cut_photo, file: proof/cut.jpg, proves: A corner.}}
"""  # noqa: E501  (one entry a line)


def folder_with(folder: Path, text: str = TEXT) -> Path:
    """The build folder written to `folder`."""
    folder.mkdir(exist_ok=True)
    (folder / "build.yaml").write_text(text)
    for name, data in FILES.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def build_in(folder: Path, text: str = TEXT) -> Build:
    """The build read from `folder`, which must have no error."""
    reading = read_folder(folder_with(folder, text))
    assert reading.build is not None, reading.problems
    return reading.build


def evaluated(folder: Path, text: str = TEXT) -> Evaluation:
    """The build evaluated by the subjects of work alone."""
    return evaluate(build_in(folder, text), as_of=DAY, subjects=load_subjects(SUBJECTS))


def evaluated_again(folder: Path) -> Evaluation:
    """What now lies in `folder`, read and evaluated anew."""
    build = read_folder(folder).build
    assert build is not None
    return evaluate(build, as_of=DAY, subjects=load_subjects(SUBJECTS))
