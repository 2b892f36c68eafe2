import type { Factor, Run } from '../../model/index.ts';
import { html, type Markup } from './html.ts';
import { bar, intervalPlot } from './plots.ts';
import { count, errorOf, FORM, known, type Say, SOURCE } from './say.ts';

/** Cart against tickets, factors with both intervals, and what their uncertainty is made of. */
export function factors(run: Run, say: Say): Markup {
	const stand = run.factors.factors.filter(known);
	const names = run.field.records.combines;
	if (stand.length === 0) {
		return html`<section><h2>Factors</h2><p class="lead">No weight, total or seam speaks for any combine; yields stand as recorded.</p></section>`;
	}
	return html`<section><h2>Factors</h2>
<p class="lead">A factor is what a monitor’s mass is multiplied by. The thick bar holds for the mass of this field (95 %), the thin line for the next load.</p>
<figure>${intervalPlot(
		stand.map((f) => ({
			text: `Combine ${names[f.combine]}`,
			kind: f.combine,
			value: f.value,
			interval: f.interval,
			wide: f.next_interval,
			note: `${say.number(f.value, 4)} ± ${say.percent((100 * (f.interval[1] - f.interval[0])) / 2 / f.value)}`,
		})),
		{ label: 'Factors with their intervals', unit: 'factor', digits: 3, say },
	)}</figure>
<div class="scroll"><table>
<thead><tr><th>Combine</th><th class="r">Factor</th><th class="r">95 %, this field</th><th class="r">95 %, next load</th><th class="r">Monitor’s error, %</th><th class="r">Weights</th><th>From</th><th>Form</th></tr></thead>
<tbody>${stand.map(
		(f) =>
			html`<tr><td>${names[f.combine]}</td><td class="r">${say.number(f.value, 4)}</td><td class="r">${range(f.interval, say)}</td><td class="r">${range(f.next_interval, say)}</td><td class="r">${say.signed(errorOf(f.value), 2)}</td><td class="r">${say.number(f.n, 0)}</td><td>${f.source === null ? '–' : SOURCE[f.source]}</td><td>${FORM[f.form]}${formDetail(f, say)}</td></tr>`,
	)}</tbody></table></div>
<h3>What the uncertainty is made of</h3>
<div class="cols">${stand.map((f) => budget(f, names[f.combine]!, say))}</div>
</section>`;
}

function range([low, high]: [number, number], say: Say): string {
	return `${say.number(low, 4)} – ${say.number(high, 4)}`;
}

function formDetail(f: Factor, say: Say): Markup | null {
	if (f.form === 'step' && f.changes.length > 0) {
		return html`: ${f.changes.map((c) => `${say.number(c.value, 4)} from ${say.time(c.time_s)}`).join('; ')}`;
	}
	if (f.form === 'trend' && f.knots.length > 1) {
		const [first, last] = [f.knots[0]!, f.knots.at(-1)!];
		return html`: ${say.number(first.value, 4)} at ${say.time(first.time_s)}, ${say.number(last.value, 4)} at ${say.time(last.time_s)}`;
	}
	if (f.form === 'flow' && f.curve.length > 1) {
		const [first, last] = [f.curve[0]!, f.curve.at(-1)!];
		return html`: ${say.number(first.value, 4)} at ${say.quantity(first.flow_kg_s, 'flow')}, ${say.number(last.value, 4)} at ${say.quantity(last.flow_kg_s, 'flow')}`;
	}
	return null;
}

function budget(f: Factor, name: string, say: Say): Markup {
	const lines = [...f.budget].sort((a, b) => b.share - a.share);
	const advice = [
		`Fills scatter by ${say.percent(100 * f.scatter_rel)}. ${moreDumps(f)}`,
		...f.advice,
		lines[0] && lines[0].advice !== '' ? `What weighs most is ${lines[0].name}: ${lines[0].advice}` : '',
	].filter((text) => text !== '');
	return html`<div><table>
<thead><tr><th>Combine ${name}</th><th class="r">u, %</th><th>Share of the variance</th></tr></thead>
<tbody>${lines.map(
		(l) => html`<tr><td>${l.name}</td><td class="r">${say.number(100 * l.u_rel, 2)}</td><td>${bar(l.share)}</td></tr>`,
	)}</tbody>
<tfoot><tr><td>Together</td><td class="r">${say.number(100 * f.u_rel, 2)}</td><td></td></tr></tfoot></table>
<ul class="sources">${advice.map((text) => html`<li>${sentence(text)}</li>`)}</ul></div>`;
}

/** With a capital and a full stop. */
function sentence(text: string): string {
	const trimmed = text.trim();
	const whole = /[.!?:]$/.test(trimmed) ? trimmed : `${trimmed}.`;
	return whole.charAt(0).toUpperCase() + whole.slice(1);
}

function moreDumps(f: Factor): string {
	if (!Number.isFinite(f.moreDumps)) {
		return f.moreDumps === Number.POSITIVE_INFINITY
			? 'No number of further dumps reaches ± 1 %: weigh truck loads.'
			: '';
	}
	if (f.moreDumps <= 0) return '± 1 % is reached.';
	return `± 1 % takes ${count(Math.ceil(f.moreDumps), 'more dump')}.`;
}

/** The truck loads with both weights. */
export function reference(run: Run, say: Say): Markup | null {
	const loads = run.reference.loads.filter((l) => l.ticket_kg > 0);
	if (loads.length === 0) return null;
	const unchecked = run.reference.loads.length - loads.length;
	return html`<section><h2>Cart against certified scale</h2>
<p class="lead">Certified over cart weight: ${say.number(run.reference.ratio, 4)}, 95 % ${say.number(run.reference.interval[0], 4)} to ${say.number(run.reference.interval[1], 4)}, from ${count(run.reference.n, 'truck load')}.${run.reference.source === 'tickets' && run.reference.n < 3 ? ' Fewer than three loads: check more.' : ''}${unchecked > 0 ? ` ${count(unchecked, 'more load')} went without a ticket.` : ''}</p>
<div class="scroll"><table><thead><tr><th>Truck load</th><th class="r">Cart, ${say.unit('mass')}</th><th class="r">Certified, ${say.unit('mass')}</th><th class="r">Certified / cart</th><th></th></tr></thead>
<tbody>${loads.map(
		(l) =>
			html`<tr${l.used ? null : html` class="aside"`}><td>${l.truckLoad}</td><td class="r">${say.bare(l.cart_kg, 'mass')}</td><td class="r">${say.bare(l.ticket_kg, 'mass')}</td><td class="r">${say.number(l.cart_kg > 0 ? l.ticket_kg / l.cart_kg : Number.NaN, 4)}</td><td>${l.used ? 'used' : (l.reason ?? 'not used')}</td></tr>`,
	)}</tbody></table></div></section>`;
}

/** Certified less sensed moisture of each combine. */
export function moisture(run: Run, say: Say): Markup | null {
	const names = run.field.records.combines;
	if (run.moisture.length === 0) return null;
	return html`<section><h2>Moisture</h2>
<p class="lead">What each sensor is off, from certified moistures; it is added before grain is brought to ${say.percent(say.crop.market_moisture_pct)}.</p>
<div class="scroll"><table><thead><tr><th>Combine</th><th class="r">Offset, points</th><th class="r">Standard uncertainty</th><th class="r">Loads</th><th>From</th></tr></thead>
<tbody>${run.moisture.map(
		(m) =>
			html`<tr><td>${names[m.combine]}</td><td class="r">${say.signed(m.offset_pct, 2)}</td><td class="r">${say.number(m.u_pct, 2)}</td><td class="r">${say.number(m.n, 0)}</td><td>${m.source === 'tickets' ? 'tickets' : 'nothing: the sensor is taken as it is'}</td></tr>`,
	)}</tbody></table></div></section>`;
}

/** Neighbouring passes before and after correction. */
export function seams(run: Run, say: Say): Markup | null {
	const names = run.field.records.combines;
	const jumps = run.seams.jumps.filter((j) => Number.isFinite(j.before_pct));
	if (jumps.length === 0) return null;
	const pair = (a: number, b: number) => `${names[a]} against ${names[b]}`;
	const rows = jumps.flatMap((j) => [
		{
			text: `${names[j.combineA]} / ${names[j.combineB]}, before`,
			kind: 1,
			value: j.before_pct,
			interval: j.before_interval,
			note: `${say.signed(j.before_pct, 1)} %`,
		},
		{
			text: `${names[j.combineA]} / ${names[j.combineB]}, after`,
			kind: 0,
			value: j.after_pct,
			interval: j.after_interval,
			note: `${say.signed(j.after_pct, 1)} %`,
		},
	]);
	return html`<section><h2>Seams</h2>
<p class="lead">Where two combines cut side by side both saw the same crop. What they differ by there is seen without any scale, and is the check on the factors.</p>
<figure>${intervalPlot(rows, { label: 'Difference along seams, before and after', unit: '% apart', digits: 0, zero: true, say })}</figure>
<div class="scroll"><table><thead><tr><th>Pair</th><th class="r">Before, %</th><th class="r">95 %</th><th class="r">After, %</th><th class="r">95 %</th><th class="r">Moisture, points</th><th class="r">Length, ${say.unit('distance')}</th><th>Remarks</th></tr></thead>
<tbody>${jumps.map(
		(j) =>
			html`<tr><td class="w">${pair(j.combineA, j.combineB)}</td><td class="r">${say.signed(j.before_pct, 1)}</td><td class="r">${say.signed(j.before_interval[0], 1)} to ${say.signed(j.before_interval[1], 1)}</td><td class="r">${say.signed(j.after_pct, 1)}</td><td class="r">${say.signed(j.after_interval[0], 1)} to ${say.signed(j.after_interval[1], 1)}</td><td class="r">${say.signed(j.moisture_diff_pct, 1)}</td><td class="r">${say.bare(j.length_m, 'distance')}</td><td>${j.remarks.join(' ')}</td></tr>`,
	)}</tbody></table></div></section>`;
}
