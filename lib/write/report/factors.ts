import { type Factor, type Run, stated } from '../../model/index.ts';
import { countOf, factorRange, rangeText } from '../../units/index.ts';
import { html, type Markup } from './html.ts';
import { bar, intervalPlot } from './plots.ts';
import { FORM, known, type Say, SOURCE } from './say.ts';

/** Factors with both intervals, where their uncertainty comes from, the patterns tried, what to do. */
export function factors(run: Run, say: Say): Markup {
	const stand = run.factors.factors.filter(known);
	const names = run.field.records.combines;
	if (stand.length === 0) {
		return html`<section><h2>Factors</h2><p class="lead">No combine has a weight, a total or a seam to rest a factor on. Yields are as recorded.</p></section>`;
	}
	const of = (f: Factor) => stated(run.result.statements, 'factor', names[f.combine]!)!;
	return html`<section><h2>Factors</h2>
<p class="lead">A factor is reference weight ÷ monitor weight; yields are multiplied by it. Thick bar: 95% interval for this field. Thin line: 95% range for the next dump.</p>
<figure>${intervalPlot(
		stand.map((f) => ({
			text: names[f.combine]!,
			kind: f.combine,
			value: of(f).value,
			interval: f.interval,
			wide: f.next_interval,
			note: `${say.number(of(f).value, 3)} (${factorRange(f.interval)})`,
		})),
		{ label: 'Factors with their intervals', unit: 'factor', digits: 3, say },
	)}</figure>
<div class="scroll" tabindex="0"><table>
<thead><tr><th>Combine</th><th class="r">Factor</th><th class="r">95% interval, this field</th><th class="r">95% range, next dump</th><th class="r">Monitor error, %</th><th class="r">Weights</th><th>From</th><th>Pattern</th></tr></thead>
<tbody>${stand.map((f) => {
		const error = stated(run.result.statements, 'monitor_error', names[f.combine]!);
		return html`<tr><td>${names[f.combine]}</td><td class="r">${say.number(of(f).value, 3)}</td><td class="r">${factorRange(f.interval)}</td><td class="r">${rangeText(f.next_interval, 3)}</td><td class="r">${say.signed(error?.value, 1)}</td><td class="r">${say.number(f.n, 0)}</td><td>${SOURCE[f.source ?? ''] ?? '–'}</td><td>${FORM[f.form]}${formDetail(f, say)}</td></tr>`;
	})}</tbody></table></div>
${pinned(run, say)}
<h3>Where the uncertainty comes from</h3>
<div class="cols">${stand.map((f) => budget(f, names[f.combine]!, say))}</div>
<p class="soft">u: standard uncertainty, percent of the factor. Parts add up as squares: the share is each part’s share of the variance. Moisture changes dry yields only and is no part of the factor.</p>
${tried(run, stand, say)}
<h3>What to do</h3>
<div class="cols">${stand.map((f) => html`<div><p><b>${names[f.combine]}</b></p><ul class="sources">${f.advice.map((text) => html`<li>${sentence(say.own(text))}</li>`)}</ul></div>`)}</div>
</section>`;
}

function pinned(run: Run, say: Say): Markup[] {
	return Object.entries(run.result.combines).flatMap(([name, { factor }]) => {
		if ((factor?.source as string | undefined) !== 'pinned') return [];
		const { weighed } = factor as unknown as {
			weighed?: { value: number; interval: [number, number]; n: number } | null;
		};
		return [
			weighed
				? html`<p>${name}: the factor was set by hand. The weights give ${say.number(weighed.value, 3)} (95% interval ${rangeText(weighed.interval, 3)}, ${countOf(weighed.n, 'weight')}).</p>`
				: html`<p>${name}: the factor was set by hand, and nothing was weighed that supports or contradicts it.</p>`,
		];
	});
}

function formDetail(f: Factor, say: Say): Markup | null {
	if (f.form === 'step' && f.changes.length > 0) {
		return html`: ${f.changes.map((c) => `${say.number(c.value, 3)} from ${say.clock.dayAndMinute(c.time_s)}`).join('; ')}`;
	}
	if (f.form === 'trend' && f.knots.length > 1) {
		const [first, last] = [f.knots[0]!, f.knots.at(-1)!];
		return html`: ${say.number(first.value, 3)} at ${say.clock.dayAndMinute(first.time_s)}, ${say.number(last.value, 3)} at ${say.clock.dayAndMinute(last.time_s)}`;
	}
	if (f.form === 'flow' && f.curve.length > 1) {
		const [first, last] = [f.curve[0]!, f.curve.at(-1)!];
		return html`: ${say.number(first.value, 3)} at ${say.quantity(first.flow_kg_s, 'flow')}, ${say.number(last.value, 3)} at ${say.quantity(last.flow_kg_s, 'flow')}`;
	}
	return null;
}

/** The row of the uncertainty budget that dry yields have and the factor does not. */
const DRY = 'moisture';

function budget(f: Factor, name: string, say: Say): Markup {
	const lines = f.budget.filter((l) => !l.name.startsWith(DRY));
	const dry = f.budget.filter((l) => l.name.startsWith(DRY));
	const variance = lines.reduce((s, l) => s + l.u_rel ** 2, 0);
	const shares = lines.map((l) => (variance > 0 ? l.u_rel ** 2 / variance : 0));
	const order = lines.map((_, k) => k).sort((a, b) => shares[b]! - shares[a]!);
	const largest = order.length > 0 ? lines[order[0]!]! : null;
	const row = (what: string, u: number, mark: Markup | null) =>
		html`<tr><td>${what}</td><td class="r">${say.number(100 * u, 2)}</td><td>${mark}</td></tr>`;
	return html`<div><table>
<thead><tr><th>${name}</th><th class="r">u, %</th><th>Share of the variance</th></tr></thead>
<tbody>${order.map((k) => row(lines[k]!.name, lines[k]!.u_rel, bar(shares[k]!)))}</tbody>
<tfoot>${row('Factor, together', Math.sqrt(variance), null)}${dry.map((l) => row('Moisture (dry yield only)', l.u_rel, null))}</tfoot></table>
<p class="soft">Tank loads scatter by ${say.percent(100 * f.scatter_rel)}.${largest && largest.advice !== '' ? ` Largest source: ${largest.name}; ${largest.advice}.` : ''}</p></div>`;
}

/** Each pattern's error in predicting held-out tank loads, and why the chosen pattern was chosen. */
function tried(run: Run, stand: readonly Factor[], say: Say): Markup | null {
	const names = run.field.records.combines;
	const rows = stand.filter((f) => f.tried.some((t) => Number.isFinite(t.score)));
	if (rows.length === 0) return null;
	const forms = ['constant', 'step', 'trend', 'flow'] as const;
	return html`<h3>Patterns tried</h3>
<div class="scroll" tabindex="0"><table><thead><tr><th>Combine</th>${forms.map((form) => html`<th class="r">${FORM[form]}, %</th>`)}<th>In use, and why</th></tr></thead>
<tbody>${rows.map(
		(f) =>
			html`<tr><td>${names[f.combine]}</td>${forms.map((form) => html`<td class="r">${say.number(100 * (f.tried.find((t) => t.form === form)?.score ?? Number.NaN), 2)}</td>`)}<td>${FORM[f.form]}: ${whyChosen(f, say)}</td></tr>`,
	)}</tbody></table></div>
<p class="soft">Root mean square error in predicting tank loads held out, percent of their weight. A pattern with more freedom often looks better by chance, so it must beat a constant by more than it does in simulated fields whose factor is constant.</p>`;
}

/** Why the chosen pattern is used although another may have predicted better. */
function whyChosen(f: Factor, say: Say): string {
	const scores = new Map(f.tried.map((t) => [t.form, t.score]));
	const own = scores.get(f.form) ?? Number.NaN;
	if (f.form === 'flow') return 'the seams show it at different flows, and the weights do not contradict it.';
	if (f.form !== 'constant') {
		const constant = scores.get('constant') ?? Number.NaN;
		return Number.isFinite(constant)
			? `predicts held-out tank loads at ${say.percent(100 * own, 2)} where a constant has ${say.percent(100 * constant, 2)}, more than chance does in constant fields.`
			: 'it predicts held-out tank loads better than chance does in constant fields.';
	}
	const better = f.tried.filter((t) => t.form !== 'constant' && t.score < own);
	if (better.length === 0) {
		return f.tried.filter((t) => Number.isFinite(t.score)).length > 1
			? 'no other pattern predicts held-out tank loads better.'
			: 'too few weights to try another.';
	}
	return `the gain of ${better.map((t) => FORM[t.form]).join(' and ')} is no larger than chance gives in constant fields, or it depends on a single weight.`;
}

/** With a capital letter and a period. */
function sentence(text: string): string {
	const trimmed = text.trim();
	const whole = /[.!?:]$/.test(trimmed) ? trimmed : `${trimmed}.`;
	return whole.charAt(0).toUpperCase() + whole.slice(1);
}

/** Ticket moisture less sensed moisture of each combine. */
export function moisture(run: Run, say: Say): Markup | null {
	const names = run.field.records.combines;
	if (run.moisture.length === 0) return null;
	return html`<section><h2>Moisture</h2>
<p class="lead">How far each sensor is from ticket moisture. The offset is added before grain is brought to ${say.market}.</p>
<div class="scroll" tabindex="0"><table><thead><tr><th>Combine</th><th class="r">Offset, points</th><th class="r">Standard uncertainty, points</th><th class="r">Tickets</th><th>From</th></tr></thead>
<tbody>${run.moisture.map(
		(m) =>
			html`<tr><td>${names[m.combine]}</td><td class="r">${say.signed(m.offset_pct, 1)}</td><td class="r">${say.number(m.u_pct, 2)}</td><td class="r">${say.number(m.n, 0)}</td><td>${m.source === 'tickets' ? 'tickets' : 'nothing: the sensor is used as it is'}</td></tr>`,
	)}</tbody></table></div></section>`;
}

/** Neighboring passes before and after correction. */
export function seams(run: Run, say: Say): Markup | null {
	const list = run.result.seams.filter((j) => Number.isFinite(j.before_pct));
	if (list.length === 0) return null;
	const remarks = new Map<string, string[]>(
		run.seams.jumps.map((j) => {
			const names = run.field.records.combines;
			return [`${names[j.combineA]}/${names[j.combineB]}`, j.remarks] as const;
		}),
	);
	const rows = list.flatMap((j) => [
		{
			text: `${j.pair.join(' / ')}, before`,
			kind: 1,
			value: j.before_pct,
			interval: j.before_interval,
			note: `${say.signed(j.before_pct, 1)}%`,
		},
		{
			text: `${j.pair.join(' / ')}, after`,
			kind: 0,
			value: j.after_pct,
			interval: j.after_interval,
			note: `${say.signed(j.after_pct, 1)}%`,
		},
	]);
	const signed = { sign: true };
	return html`<section><h2>Seams</h2>
<p class="lead">A seam is the line where neighboring passes meet. Both combines cut the same crop there, so their difference is seen without any scale. It checks the factors, except for a combine whose factor comes from the seams.</p>
<figure>${intervalPlot(rows, { label: 'Difference at seams, before and after correction', unit: 'difference, %', digits: 0, zero: true, say })}</figure>
<div class="scroll" tabindex="0"><table><thead><tr><th>First over second</th><th class="r">Before, %</th><th class="r">95% interval</th><th class="r">After, %</th><th class="r">95% interval</th><th class="r">Moisture, points</th><th class="r">Length, ${say.unit('distance')}</th><th>Remarks</th></tr></thead>
<tbody>${list.map(
		(j) =>
			html`<tr><td class="w">${j.pair.join(' / ')}</td><td class="r">${say.signed(j.before_pct, 1)}</td><td class="r">${rangeText(j.before_interval, 1, signed)}</td><td class="r">${say.signed(j.after_pct, 1)}</td><td class="r">${rangeText(j.after_interval, 1, signed)}</td><td class="r">${say.signed(j.moisture_diff_pct, 1)}</td><td class="r">${say.bare(j.length_m, 'distance')}</td><td>${say.own((remarks.get(j.pair.join('/')) ?? []).join(' '))}</td></tr>`,
	)}</tbody></table></div></section>`;
}
