import type { Run } from '../../model/index.ts';
import type { UnitSystem } from '../../units/index.ts';
import { comparisonTables, type TextTable } from '../files/comparison.ts';
import { factors, seams } from './factors.ts';
import { html, type Markup } from './html.ts';
import { FOOT, head, title } from './page.ts';
import { Say } from './say.ts';

/** The comparison of two or more combines as a separate page in the report's style. */
export function* compareHtml(run: Run, units: UnitSystem): Generator<Uint8Array> {
	const say = new Say(run.field.plan, units);
	const encoder = new TextEncoder();
	yield encoder.encode(head(run, 'compared').text);
	const { pairs, advice } = run.comparison;
	const sections = [
		title(run),
		pairs.length === 0 ? html`<section><p>One combine cut here, so there is nothing to compare.</p></section>` : null,
		...comparisonTables(run, units).map((t) => section(t, say)),
		factors(run, say),
		seams(run, say),
		html`<section><h2>A fair test</h2><ul>${advice.map((a) => html`<li>${a}</li>`)}</ul></section>`,
	];
	for (const markup of sections) if (markup !== null) yield encoder.encode(`${markup.text}\n`);
	yield encoder.encode(FOOT);
}

function section(t: TextTable, say: Say): Markup {
	const side = (c: number) => (t.right.includes(c) ? 'r' : '');
	return html`<section><h2>${t.title}</h2>
<table><thead><tr>${t.head.map((h, c) => html`<th class="${side(c)}">${h}</th>`)}</tr></thead>
<tbody>${t.rows.map((r) => html`<tr>${r.map((x, c) => html`<td class="${side(c)}">${x}</td>`)}</tr>`)}</tbody></table>
${t.remarks.map((r) => html`<p>${say.own(r)}</p>`)}</section>`;
}
