import type { Run } from '../../model/index.ts';
import { html, type Markup } from './html.ts';
import { errorOf, FORM, known, list, type Say } from './say.ts';

/** The first thing read: how far off each monitor is, what the field weighed, whether the combines now agree. */
export function verdict(run: Run, say: Say): Markup {
	const { result, yields, track } = run;
	const sentences = [...combineSentences(run, say), seamSentence(run, say), levelSentence(run, say)].filter(
		(s) => s !== null,
	);
	const mean_kg_ha = result.totals.area_ha > 0 ? result.totals.dry_kg / result.totals.area_ha : Number.NaN;
	const u = fieldUncertainty(run);
	const kept = keptShare(yields.flag, track.area_m2);
	const moisture = say.percent(say.crop.market_moisture_pct);
	return html`<section class="verdict">
${sentences.map((s) => html`<p class="say">${unbroken(s)}</p>`)}
<dl class="figures">
${figure('Mean yield', say.bare(mean_kg_ha, 'yield'), say.unit('yield'), `${u > 0 ? `± ${say.bare(2 * u * mean_kg_ha, 'yield')} (95 %), ` : ''}at ${moisture} moisture`)}
${figure('Grain, dry', say.bare(result.totals.dry_kg, 'grain', say.units === 'us' ? 0 : 1), say.unit('grain'), `${say.quantity(result.totals.corrected_kg, 'mass', 0)} as cut`)}
${figure('Ground cut', say.bare(result.totals.area_ha, 'area', 1), say.unit('area'), 'overlap counted once')}
${figure('On the map', say.number(100 * kept, 0), '%', 'of the ground cut; the rest is flagged')}
</dl>
</section>`;
}

/** No line ends between a number and its sign. */
const unbroken = (text: string) => text.replace(/ %/g, '\u00a0%').replace(/± /g, '±\u00a0');

function figure(name: string, value: string, unit: string, more: string): Markup {
	return html`<div><dt>${name}</dt><dd>${value} <span>${unit}</span></dd><dd class="more">${unbroken(more)}</dd></div>`;
}

function combineSentences(run: Run, say: Say): string[] {
	const { records } = run.field;
	return records.combines.flatMap((name, c) => {
		const f = run.factors.factors.find((g) => g.combine === c);
		if (!known(f)) return [];
		const error = errorOf(f.value);
		// A greater factor is a smaller error.
		const low = errorOf(f.interval[1]);
		const high = errorOf(f.interval[0]);
		const sure = low > 0 || high < 0;
		const range = `95 %: ${say.signed(low, 1)} to ${say.signed(high, 1)} %`;
		if (!sure) return [`Combine ${name} weighs true within what can be told (${say.signed(error, 1)} %; ${range}).`];
		return [
			`Combine ${name} reads ${say.number(Math.abs(error), 1)} % ${error > 0 ? 'high' : 'low'} (${range}): its yields are multiplied by ${say.number(f.value, 4)}${f.form === 'constant' ? '' : ` on the whole (${FORM[f.form]})`}.`,
		];
	});
}

function seamSentence(run: Run, say: Say): string | null {
	const named = run.field.records.combines;
	const jumps = run.seams.jumps.filter((j) => j.combineA !== j.combineB && Number.isFinite(j.before_pct));
	if (jumps.length === 0) return null;
	const parts = jumps.map((j) => {
		const half = (j.after_interval[1] - j.after_interval[0]) / 2;
		const far = j.after_interval[0] > 0 || j.after_interval[1] < 0;
		return `${named[j.combineA]} and ${named[j.combineB]} differed by ${say.signed(j.before_pct, 1)} %, now by ${say.signed(j.after_pct, 1)} ± ${say.number(half, 1)} %${far ? ', which is more than chance' : ''}`;
	});
	return `Where they cut side by side, ${list(parts)}.`;
}

function levelSentence(run: Run, say: Say): string | null {
	const { reference, factors } = run;
	if (!factors.factors.some(known)) {
		return 'No weight speaks for this field. The map shows where there was more and where less, not how much.';
	}
	const sources = new Set(factors.factors.filter(known).map((f) => f.source));
	if (!sources.has('dumps')) {
		if (sources.has('tickets')) return 'The level rests on certified tickets.';
		if (sources.has('total')) return 'The level rests on one weight of the whole field.';
		if (sources.has('pinned')) return 'The level was set by hand.';
	}
	if (reference.source === 'tickets') {
		return `The cart was checked on ${say.number(reference.n, 0)} truck load${reference.n === 1 ? '' : 's'} of certified weight.`;
	}
	return `The cart was not checked against a certified scale: everything here may be off together by ${say.number(100 * reference.limit_rel, 1)} %.`;
}

/** Relative standard uncertainty of the whole field's dry mass: factors by their share of it, and moisture. */
export function fieldUncertainty(run: Run): number {
	const { factors, result, field } = run;
	const m = field.records.combines.length;
	const total = result.totals.corrected_kg;
	if (!(total > 0) || !factors.factors.some(known)) return Number.NaN;
	const share = field.records.combines.map((name) => (result.combines[name]?.corrected_kg ?? 0) / total);
	let variance = 0;
	for (let a = 0; a < m; a++) {
		for (let b = 0; b < m; b++) variance += share[a]! * share[b]! * (factors.covariance[a * m + b] ?? 0);
	}
	// Offsets of several sensors rest on the same tickets: they are taken to err together.
	let u_dry = 0;
	const grain_pct = field.plan.crop.market_moisture_pct;
	for (const o of run.moisture) u_dry += ((share[o.combine] ?? 0) * o.u_pct) / (100 - grain_pct);
	return Math.hypot(Math.sqrt(variance), u_dry);
}

/** Ground whose records are kept over all ground cut. */
export function keptShare(flag: Uint8Array, area_m2: Float64Array): number {
	let kept = 0;
	let all = 0;
	for (let i = 0; i < flag.length; i++) {
		const a = area_m2[i]!;
		if (!(a > 0)) continue;
		all += a;
		if (flag[i] === 0) kept += a;
	}
	return kept / all;
}
