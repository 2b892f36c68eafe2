import { type Run, stated } from '../../model/index.ts';
import {
	chartSentences,
	clockSentence,
	dumpsSentence,
	formatNumber,
	massInBoth,
	STATUS_WORDS,
	secondsOf,
	tankLoad,
} from '../../units/index.ts';
import { html, type Markup } from './html.ts';
import { type Dot, dotPlot, mark } from './plots.ts';
import { known, type Say } from './say.ts';

/** Every dump of the load book with its status, and the tank loads that were not weighed. */
export function dumps(run: Run, say: Say): Markup | null {
	const { result, match } = run;
	if (result.dumps.length === 0 && result.unweighed.length === 0) return null;
	return html`<section><h2>Dumps</h2>
<p class="lead">${dumpsSentence(result)} ${clockSentence(result)}</p>
${plot(run, say)}
${result.dumps.length > 0 ? table(run, say) : null}
${result.unweighed.length > 0 ? unweighed(run, say) : null}
${match.independent.some((n) => n > 0) ? html`<p class="soft">${independent(run)}</p>` : null}
</section>`;
}

function independent(run: Run): string {
	const parts = run.field.records.combines.flatMap((name, c) => {
		const n = run.match.independent[c];
		return n !== undefined && n > 0 ? [`${name} ${formatNumber(n, 1)}`] : [];
	});
	return `Effective number of independent dumps: ${parts.join(', ')}. It is smaller than the number of dumps because neighboring dumps share a reading of the cart and the grain left in the tank: what one has too much the next has too little, so single errors scatter more than their sum.`;
}

function plot(run: Run, say: Say): Markup | null {
	const { result, match, field } = run;
	const names = field.records.combines;
	const dots: Dot[] = [];
	result.dumps.forEach((d, k) => {
		const fate = match.fates[k];
		if (d.error_pct === null || !fate) return;
		const combines = fate.combines;
		const kind = combines.length === 1 ? combines[0]! : names.length;
		dots.push({ x: fate.end_s, y: d.error_pct, kind, hollow: d.status !== 'used' });
	});
	const finite = dots.filter((d) => Number.isFinite(d.x) && Number.isFinite(d.y));
	if (finite.length < 3) return null;
	const times = finite.map((d) => d.x);
	const [from, to] = [Math.min(...times), Math.max(...times)];
	const levels = run.factors.factors.filter(known).flatMap((f) => {
		const error = stated(result.statements, 'monitor_error', names[f.combine]!);
		return error?.interval ? [{ kind: f.combine, y: error.value, interval: error.interval, from, to }] : [];
	});
	const kinds = [...new Set(finite.map((d) => d.kind))].sort();
	return html`<figure>${dotPlot({
		dots: finite,
		levels,
		label: 'Monitor error by dump, in order of time',
		yTitle: 'Monitor error, % of reference weight',
		xMarks: [
			{ x: from, text: say.clock.dayAndMinute(from) },
			{ x: to, text: say.clock.dayAndMinute(to) },
		],
		say,
	})}<figcaption>${kinds.map(
		(k) =>
			html`<svg class="key" viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">${mark(k, 6, 6, false, 3.6)}</svg> ${k < names.length ? names[k] : 'both together'} `,
	)}· hollow: grouped with other dumps · line and band: the whole field’s error with its 95% interval${chartSentences(result).map((s) => html`<br>${s}`)}</figcaption></figure>`;
}

function table(run: Run, say: Say): Markup {
	const { result, match, field } = run;
	const notes = result.dumps.map((d, k) => {
		const parts = [
			d.reason ?? '',
			d.combine_source === 'inferred' && d.combine !== null ? 'combine inferred' : '',
			match.fates[k]?.inDoubt ? 'uncertain match: another match fits almost as well' : '',
		].filter((t) => t !== '');
		return say.own(parts.join('; '));
	});
	return html`<h3>Load book</h3><div class="scroll" tabindex="0"><table class="dumps">
<thead><tr><th>Dump</th><th>Combine</th><th>Tank load</th><th>Ended (${say.clock.zone})</th><th class="r">Cart, ${say.unit('mass')}</th><th class="r">Reference, ${say.unit('mass')}</th><th class="r">Monitor, ${say.unit('mass')}</th><th class="r">Error, %</th><th>Status</th></tr></thead>
<tbody>${result.dumps.map((d, k) => {
		const note = notes[k]!;
		return html`<tr${d.status === 'aside' ? html` class="aside"` : null}><td class="w">${d.id}</td><td>${d.combine ?? '–'}</td><td>${tankLoad(d.fill, field.records.combines)}</td><td class="w">${say.clock.dayAndMinute(match.fates[k]?.end_s ?? Number.NaN)}</td><td class="r">${say.bare(d.cart_kg, 'mass')}</td><td class="r">${say.bare(d.reference_kg, 'mass')}</td><td class="r">${say.bare(d.monitor_kg, 'mass')}</td><td class="r">${say.signed(d.error_pct, 1)}</td><td class="st"><b>${STATUS_WORDS[d.status]}</b>${note === '' ? null : html` <small>${note}</small>`}</td></tr>`;
	})}</tbody></table></div>
<p class="soft">Reference = cart weight × cart ratio. Error = monitor less reference, percent of reference; + reads high. Dumps with one tank load number are grouped: their weights stand on the last of them.</p>`;
}

function unweighed(run: Run, say: Say): Markup {
	const rows = run.result.unweighed;
	return html`<h3>Tank loads that were not weighed</h3><div class="scroll" tabindex="0"><table>
<thead><tr><th>Combine</th><th>From (${say.clock.zone})</th><th>To</th><th class="r">Monitor, ${say.unit('mass')}</th><th class="r">Deduced, ${say.unit('mass')}</th><th>Why</th></tr></thead>
<tbody>${rows.map(
		(u) =>
			html`<tr><td>${u.combine}</td><td class="w">${say.clock.dayAndMinute(secondsOf(u.start))}</td><td class="w">${say.clock.dayAndMinute(secondsOf(u.end))}</td><td class="r">${say.bare(u.monitor_kg, 'mass')}</td><td class="r">${say.bare(u.deduced_kg, 'mass')}</td><td>${say.own(u.reason)}</td></tr>`,
	)}</tbody></table></div>`;
}

/** Truckload by truckload: what the cart put on it, the dumps that filled the cart for it, the ticket. */
export function trucks(run: Run, say: Say): Markup | null {
	const { trucks: rows, reference } = run.result;
	if (rows.length === 0) return null;
	const used = new Map(run.reference.loads.map((l) => [l.truckLoad, l]));
	const repaired = rows.filter((t) => t.repaired);
	return html`<section><h2>Trucks</h2>
<p class="lead">The cart weighed the grain twice: as dumps coming in and as offloads going out. A difference between the two shows a dump that was entered wrong, twice or not at all. ${
		reference.source === 'tickets' && run.result.dumps.length > 0
			? `The cart ratio is ticket weight ÷ cart weight: ${say.number(reference.ratio, 4)}, 95% interval ${say.number(reference.interval[0], 4)} to ${say.number(reference.interval[1], 4)}, from ${reference.n === 1 ? '1 truckload' : `${reference.n} truckloads`}.`
			: ''
	}</p>
<div class="scroll" tabindex="0"><table><thead><tr><th>Truckload</th><th class="r">Offloads, ${say.unit('mass')}</th><th class="r">Dumps, ${say.unit('mass')}</th><th class="r">Difference, ${say.unit('mass')}</th><th class="r">Ticket, ${say.unit('mass')}</th><th class="r">Ticket ÷ cart</th><th>Remark</th></tr></thead>
<tbody>${rows.map((t) => {
		const load = used.get(t.truck_load);
		const why = load && !load.used && t.ticket_kg !== null ? `not used for the cart ratio: ${load.reason ?? ''}` : '';
		const remark = [t.remark ?? '', why].filter((x) => x !== '').join('; ');
		const ratio = t.ticket_kg !== null && t.offloads_kg ? t.ticket_kg / t.offloads_kg : null;
		const diff = t.difference_kg === null ? '–' : signedMass(t.difference_kg, say);
		return html`<tr><td class="w">${t.truck_load}</td><td class="r">${say.bare(t.offloads_kg, 'mass')}</td><td class="r">${say.bare(t.dumps_kg, 'mass')}</td><td class="r">${diff}</td><td class="r">${say.bare(t.ticket_kg, 'mass')}</td><td class="r">${say.number(ratio, 4)}</td><td>${say.own(remark)}</td></tr>`;
	})}</tbody></table></div>
${repaired.map((t) => html`<p>Dump ${t.repaired!.dump} was about ${say.own(massInBoth(t.repaired!.cart_kg))} on the cart scale: the offloads of truckload ${t.truck_load} less its other dumps. ${t.repaired!.used ? 'The factors use this weight in place of the one entered.' : 'To use it, correct the weight in the cart log.'}</p>`)}
<p class="soft">Offloads and dumps as the cart showed them; tickets taken to be from a certified scale.</p></section>`;
}

function signedMass(kg: number, say: Say): string {
	const text = say.bare(kg, 'mass');
	return kg > 0 && /[1-9]/.test(text) ? `+${text}` : text;
}
