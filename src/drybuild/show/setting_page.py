"""One self-contained page of the alignment sheet: two drawings and the words."""

from __future__ import annotations

from html import escape
from pathlib import Path

from drybuild.examine.setting_sheet import SettingSheet
from drybuild.examine.tightening import Joint
from drybuild.show import alignment, load_transfer
from drybuild.show.tightening import tightening_text
from drybuild.values import System

_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{name}: alignment</title>
<style>
body {{ margin:0; background:#fffdf7; color:#26343b;
  font:16px/1.5 "Source Sans 3","Noto Sans","DejaVu Sans",sans-serif; }}
main {{ max-width:62rem; margin:0 auto; padding:1.2rem 1rem 3rem; }}
h1 {{ font-size:1.5rem; margin:0; }} h2 {{ font-size:1.1rem; margin:1.8rem 0 .5rem; }}
pre {{ font:13px/1.45 "DejaVu Sans Mono",monospace; white-space:pre-wrap; }}
figure {{ margin:.6rem 0; }} svg {{ max-width:100%; height:auto; display:block; }}
{style}
@media print {{ main {{ padding:0; }} figure {{ break-inside:avoid; }} }}
</style>
</head>
<body>
<main>
<h1>{name}: alignment</h1>
<p>{state}</p>
<figure>{strings}</figure>
<h2>Load transfer</h2>
{transfer}
<pre>{transfer_words}</pre>
<h2>The sheet</h2>
<pre>{words}</pre>
<pre>{joints}</pre>
</main>
</body>
</html>
"""


def setting_page(
    sheet: SettingSheet, joints: tuple[Joint, ...] = (), system: System = "metric"
) -> str:
    """The page as text."""
    bars = load_transfer.transfer_svg(sheet, system)
    return _PAGE.format(
        name=escape(sheet.name), state=escape(sheet.state),
        style=alignment.STYLE + load_transfer.STYLE,
        strings=alignment.sheet_svg(sheet, system),
        transfer=f"<figure>{bars}</figure>" if bars else "",
        transfer_words=escape(load_transfer.transfer_text(sheet, system)),
        words=escape(alignment.sheet_text(sheet, system)),
        joints=escape(tightening_text(joints, system)),
    )  # fmt: skip


def write_setting_page(
    path: Path, sheet: SettingSheet, joints: tuple[Joint, ...] = (), system: System = "metric"
) -> None:
    """Write the page."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(setting_page(sheet, joints, system), encoding="utf-8")
