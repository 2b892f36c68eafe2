/** The report's only style sheet: warm paper, thin rules, large numerals; prints on A4 and Letter. */
export const STYLE = `
@page { size: auto; margin: 15mm 14mm 16mm; }
:root { --paper: #f8f4eb; --sheet: #fffdf7; --ink: #231f19; --soft: #5d5548; --rule: #d9d0be; --accent: #17556b; --warn: #8a4b08; }
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); -webkit-print-color-adjust: exact; print-color-adjust: exact; }
body { margin: 0 auto; padding: 2.2rem 1.6rem 3rem; max-width: 52rem; font: 0.9375rem/1.45 "Source Sans 3 Variable", "Source Sans 3", "Segoe UI", "Helvetica Neue", Helvetica, Arial, sans-serif; font-variant-numeric: tabular-nums lining-nums; }
h1, h2, h3, p, figure, table, ul, ol, dl { margin: 0; }
h1 { font-size: 1.75rem; line-height: 1.15; font-weight: 600; letter-spacing: -0.01em; }
h2 { font-size: 1.125rem; font-weight: 600; margin: 0 0 0.35rem; padding-top: 0.55rem; border-top: 1.5px solid var(--ink); }
h3 { font-size: 0.9375rem; font-weight: 600; margin: 0.9rem 0 0.25rem; }
section { margin-top: 1.7rem; }
section > p + p, .maps + p { margin-top: 0.45rem; }
h2, h3 { break-after: avoid; }
small, .soft { color: var(--soft); font-size: 0.8125rem; line-height: 1.4; }
.lead { max-width: 46rem; break-after: avoid; break-inside: avoid; text-wrap: pretty; }
.lead + .scroll, .lead + figure { margin-top: 0.5rem; }
.scroll + .soft, .cols + .soft, table + .soft, figure + .soft { margin-top: 0.45rem; }
.head { display: flex; justify-content: space-between; align-items: flex-end; gap: 1.5rem; }
.head .mark { text-align: right; color: var(--soft); font-size: 0.8125rem; white-space: nowrap; }
.mark b { display: block; color: var(--ink); font-size: 0.9375rem; letter-spacing: 0.08em; text-transform: uppercase; font-weight: 600; }
.verdict { border-bottom: 1px solid var(--rule); padding: 0 0 1rem; break-inside: avoid; }
.verdict p.say { font-size: 1.1875rem; line-height: 1.4; text-wrap: pretty; }
.verdict p.say + p.say { margin-top: 0.3rem; }
.figures { display: grid; grid-template-columns: repeat(4, 1fr); margin-top: 1.1rem; }
.figures div { border-left: 1px solid var(--rule); padding: 0 0.8rem; }
.figures div:first-child { border-left: 0; padding-left: 0; }
.figures dt { color: var(--soft); font-size: 0.8125rem; }
.figures dd { margin: 0; font-size: 2rem; line-height: 1.15; font-weight: 400; letter-spacing: -0.015em; white-space: nowrap; }
.figures dd span { font-size: 1rem; letter-spacing: 0; }
.figures dd.more { font-size: 0.8125rem; color: var(--soft); line-height: 1.35; letter-spacing: 0; white-space: normal; }
table.big { font-size: 1.0625rem; }
table.big td { padding-top: 0.4rem; padding-bottom: 0.4rem; }
.first figure { max-width: 27rem; margin-top: 1.2rem; }
.first .cautions { margin-top: 0.3rem; }
.scale-to-map { display: grid; grid-template-columns: repeat(6, 1fr); list-style: none; padding: 0; margin-top: 1rem; break-inside: avoid; }
.scale-to-map li { position: relative; padding: 0.35rem 0.7rem 0.2rem 0; border-top: 2px solid var(--accent); margin-right: 0.55rem; }
.scale-to-map li::before { content: ""; position: absolute; top: -6px; left: 0; width: 10px; height: 10px; border-radius: 50%; background: var(--accent); }
.scale-to-map li:not(:last-child)::after { content: ""; position: absolute; top: -6px; right: -0.5rem; border: 5px solid transparent; border-left: 7px solid var(--accent); border-right: 0; }
.scale-to-map li.open::before { background: var(--paper); border: 2px solid var(--accent); }
.scale-to-map b { display: block; font-size: 0.8125rem; font-weight: 600; margin-top: 0.15rem; }
.scale-to-map .n { display: block; font-size: 1.1875rem; line-height: 1.25; letter-spacing: -0.01em; }
.scale-to-map small { display: block; }
.cautions { list-style: none; padding: 0; border-left: 3px solid var(--warn); padding-left: 0.85rem; }
.cautions li + li { margin-top: 0.3rem; }
.cautions li { break-inside: avoid; }
table { border-collapse: collapse; width: 100%; font-size: 0.8125rem; line-height: 1.35; }
thead { display: table-header-group; }
tfoot { display: table-row-group; }
tr { break-inside: avoid; page-break-inside: avoid; }
tbody tr:first-child { break-after: avoid; }
tbody tr:last-child { break-before: avoid; }
th { text-align: left; font-weight: 600; vertical-align: bottom; color: var(--soft); border-bottom: 1px solid var(--ink); padding: 0.2rem 0.55rem 0.25rem 0; }
td { vertical-align: top; border-bottom: 1px solid var(--rule); padding: 0.22rem 0.55rem 0.22rem 0; }
thead td { border-color: var(--ink); }
th:last-child, td:last-child { padding-right: 0; }
.r { text-align: right; white-space: nowrap; }
th.r { white-space: normal; }
.r + td:not(.r), .r + th:not(.r) { padding-left: 0.6rem; }
.w { white-space: nowrap; }
.aside td { color: var(--soft); }
tfoot td { border-bottom: 0; border-top: 1px solid var(--ink); font-weight: 600; }
.hash { font: 0.625rem/1.5 ui-monospace, "DejaVu Sans Mono", Menlo, Consolas, monospace; word-break: break-all; }
figure, p.soft { break-inside: avoid; }
.scroll + .soft, table + .soft, .cols + .soft { break-before: avoid; }
figcaption { color: var(--soft); font-size: 0.8125rem; line-height: 1.4; margin-top: 0.25rem; }
figcaption b { color: var(--ink); font-weight: 600; }
svg { display: block; width: 100%; height: auto; }
svg.key { display: inline-block; width: 12px; height: 12px; vertical-align: -1px; }
svg.bar { width: 100px; margin-top: 0.3em; }
svg text { font-family: inherit; fill: var(--ink); }
svg text.s { fill: var(--soft); }
.maps { display: grid; grid-template-columns: 1fr 1fr; gap: 0.9rem 1.3rem; margin-top: 0.5rem; }
.maps.pair { margin-top: 1.1rem; }
.legend { margin-top: 0.2rem; break-inside: avoid; }
.cols { display: grid; grid-template-columns: 1fr 1fr; gap: 0 1.8rem; align-items: start; }
.cols > div { break-inside: avoid; }
.sources { font-size: 0.8125rem; color: var(--soft); line-height: 1.45; padding-left: 1.1rem; }
.sources li { break-inside: avoid; }
.cols .sources { margin-top: 0.45rem; }
footer { margin-top: 2rem; border-top: 1px solid var(--rule); padding-top: 0.5rem; color: var(--soft); font-size: 0.8125rem; }
@media (max-width: 40rem) {
	.head { flex-wrap: wrap; gap: 0.4rem 1.5rem; }
	.head .mark { text-align: left; white-space: normal; }
	.figures { grid-template-columns: 1fr 1fr; row-gap: 0.7rem; }
	.maps, .cols { grid-template-columns: 1fr; }
	.cols > div { overflow-x: auto; }
	.scale-to-map { grid-template-columns: repeat(2, 1fr); row-gap: 0.9rem; }
	.figures div { padding-left: 0; border-left: 0; }
	.scroll { overflow-x: auto; }
}
@media print {
	html { background: #fff; font-size: 12.4px; }
	body { padding: 0; max-width: none; }
	.scale-to-map li.open::before { background: #fff; }
	.first { break-after: page; }
	:root { --paper: #fff; --sheet: #fff; --soft: #4a443a; --rule: #c4bba9; }
}
`;
