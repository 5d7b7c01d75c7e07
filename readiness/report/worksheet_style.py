"""How a worksheet looks: on paper two columns of ruled lines, on a screen one."""

from __future__ import annotations

from typing import Final

PAPER: Final = """
:root { --line: 0.25mm solid var(--ink); }
body { max-width: 26rem; font-size: 8pt; line-height: 1.06; }
h1 { font-size: 12pt; }
.leg { border-top: 0.6mm solid var(--ink); margin-top: 0.4mm; }
.first, .head { display: flow-root; }
h2, h3 { float: left; margin: 0 1.5mm 0 0; padding: 0; border: 0; line-height: inherit; }
h2 { font-size: 10pt; line-height: 3mm; margin-top: 0.3mm; height: 2.7mm; }
h3 { font-size: 8.5pt; line-height: 3mm; height: 3mm; }
.head { padding-top: 0.3mm; }
.held { float: right; margin-left: 2mm; white-space: nowrap; }
p { margin: 0.3mm 0; }
.caution { font-style: italic; }
.fields { display: flex; gap: 1.5mm; margin: 0.5mm 0; }
.field { flex: 1; min-height: 9.5mm; border: var(--line); padding: 0.4mm 0.8mm; }
ol { list-style: none; margin: 0; padding: 0; border-top: var(--line); box-decoration-break: clone;
  -webkit-box-decoration-break: clone; }
.span { white-space: nowrap; }
.leg .plan { font-family: Arial, "Liberation Sans", Arimo, sans-serif; }
.first, .short, li, figure, tr { break-inside: avoid; }
.first, .short { break-after: avoid; }
li { display: flex; flex-wrap: wrap; align-items: stretch; min-height: 7.25mm; margin: 0; border-bottom: var(--line); }
.no { flex: none; width: 5mm; padding: 0.6mm 0.8mm 0 0; text-align: right; }
.what { flex: 1 1 0; min-width: 0; padding: 0.3mm 1mm 0.2mm 0; }
.what b { font-size: 8.5pt; }
.box { flex: none; width: 20.5mm; border-left: var(--line); display: flex; align-items: flex-end; justify-content: flex-end;
  padding: 0 0.8mm 0.3mm; }
.tool { flex: none; width: 15.5mm; border-left: var(--line); padding: 0.2mm 0.6mm; display: flex; flex-direction: column;
  justify-content: space-between; overflow-wrap: anywhere; }
.time { text-align: center; margin-top: auto; }
.two { min-height: 9.2mm; }
.two .what { padding-left: 1mm; }
.box.named { flex: 1 1 0; flex-direction: column; justify-content: space-between; align-items: flex-start;
  padding: 0.2mm 0.8mm 0.3mm; }
.two > .box.named:first-child { border-left: 0; }
.told .box.named { flex: 0 0 21mm; }
.named .unit { align-self: flex-end; }
.two .tool { width: 12mm; }
.small .what { flex: 1 1 0; }
.small .ticks + .no { border-left: var(--line); }
.ticks { flex: none; display: flex; }
.tick { border-left: var(--line); padding: 0.3mm 0.6mm; overflow-wrap: anywhere; }
.usual { outline: 0.6mm solid var(--ink); outline-offset: -0.6mm; }
.deep .what { flex-basis: calc(100% - 7mm); }
.what.text { flex: 0 0 38mm; }
.box.text { flex: 1 1 0; align-items: flex-start; justify-content: flex-start; padding: 0.5mm 1mm; font-size: 9pt; }
.choices { width: 100%; padding: 0 0 0.5mm 5mm; display: flex; flex-wrap: wrap; gap: 0.4mm 2.5mm; }
.choice { display: flex; align-items: center; gap: 1mm; }
.key { flex: none; width: 7mm; height: 7mm; border: var(--line); padding: 0.3mm 0.6mm; font-weight: bold; }
.same { min-height: 0; }
figure { margin: 0.6mm 0; display: flex; gap: 2mm; align-items: flex-start; }
figcaption { flex: 1; min-width: 0; }
figcaption p { margin: 0 0 1mm; }
.leg .plan { background: none; }
.leg .plan .paper { fill: none; }
figure svg { flex: none; margin: -1.2mm 0 -3mm; }
.leg table { margin: 0.5mm 0; }
.leg th, .leg td { padding: 0.2mm 1.2mm 0.2mm 0; border-top: var(--line); }
.ruled thead th { color: var(--ink); font-size: 8pt; }
.ruled th { border-top: 0; }
.ruled td { height: 7.3mm; border: var(--line); }
.ruled tr > :nth-child(1) { width: 8mm; }
.ruled tr > :nth-child(2), .ruled tr > :nth-child(3) { width: 9mm; }
.ruled tr > :nth-child(5), .ruled tr > :nth-child(6) { width: 14mm; }
@media print {
  @page { margin: 10.5mm 7mm 8mm; @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt Arial; } }
  body { max-width: none; font-size: 8pt; line-height: 1.06; }
  .only-screen { display: none; }
  .columns { column-count: 2; column-gap: 3.5mm; column-fill: auto; }
}
"""
