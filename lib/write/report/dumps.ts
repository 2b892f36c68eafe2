import type { Run } from '../../model/index.ts';
import { html, type Markup } from './html.ts';
import { type Dot, dotPlot, mark } from './plots.ts';
import { count, errorOf, known, type Say } from './say.ts';

/** Every dump of the load book with what became of it, and the fills that nobody weighed. */
export function dumps(run: Run, say: Say): Markup | null {
	const { result, match } = run;
	if (result.dumps.length === 0 && result.unweighed.length === 0) return null;
	const used = result.dumps.filter((d) => d.status === 'used').length;
	const joined = result.dumps.filter((d) => d.status === 'joined').length;
	const aside = result.dumps.filter((d) => d.status === 'aside').length;
	const parts = [
		`${used} used`,
		joined > 0 ? `${joined} joined (the tank kept a rest, so they count together with their neighbours)` : '',
		aside > 0 ? `${aside} set aside` : '',
	].filter((t) => t !== '');
	return html`<section><h2>Dumps</h2>
<p class="lead">${count(result.dumps.length, 'dump')} in the load book: ${parts.join(', ')}. ${clockSentence(run, say)}</p>
${plot(run, say)}
${result.dumps.length > 0 ? table(run, say) : null}
${result.unweighed.length > 0 ? unweighed(run, say) : null}
${match.independent.some((n) => n > 0) ? html`<p class="soft">${independent(run, say)}</p>` : null}
</section>`;
}

function clockSentence(run: Run, say: Say): string {
	const { clock } = run.match;
	if (clock.source === 'none' || !Number.isFinite(clock.offset_s)) return '';
	const off = Math.round(clock.offset_s);
	const how = clock.source === 'estimated' ? 'found' : clock.source === 'pinned' ? 'set by hand' : 'taken';
	const size = Math.abs(off) >= 120 ? `${say.number(Math.abs(off) / 60, 1)} min` : `${Math.abs(off)} s`;
	const u = clock.u_s > 0 ? ` ± ${say.number(2 * clock.u_s, 0)} s` : '';
	if (Math.abs(off) < 1) return `The cart’s clock was ${how} to agree with the logs${u}.`;
	return `The cart’s clock was ${how} to be ${size}${u} ${off > 0 ? 'behind' : 'ahead of'} the logs.`;
}

function independent(run: Run, say: Say): string {
	const parts = run.field.records.combines.flatMap((name, c) => {
		const n = run.match.independent[c];
		return n !== undefined && n > 0 ? [`${name}: ${say.number(n, 1)}`] : [];
	});
	return `What the dumps are worth as independent weights: ${parts.join(', ')}. Neighbouring dumps share a reading of the cart and what stays in the tank, so single errors scatter more than their sum.`;
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
	const levels = run.factors.factors.filter(known).map((f) => ({
		kind: f.combine,
		y: errorOf(f.value),
		interval: [errorOf(f.interval[1]), errorOf(f.interval[0])] as [number, number],
		from,
		to,
	}));
	const kinds = [...new Set(finite.map((d) => d.kind))].sort();
	return html`<figure>${dotPlot({
		dots: finite,
		levels,
		label: 'Error of the monitor by dump, in order of time',
		yTitle: 'Monitor less weight, % of weight',
		xMarks: [
			{ x: from, text: say.time(from) },
			{ x: to, text: say.time(to) },
		],
		say,
	})}<figcaption>${kinds.map(
		(k) =>
			html`<svg class="key" viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">${mark(k, 6, 6, false, 3.6)}</svg> ${k < names.length ? `Combine ${names[k]}` : 'both together'} `,
	)}· hollow: joined with others · band: the factor with its 95 % interval</figcaption></figure>`;
}

function table(run: Run, say: Say): Markup {
	const { result, match } = run;
	const notes = result.dumps.map((d, k) => {
		const parts = [
			d.reason ?? '',
			d.combine_source === 'inferred' && d.combine !== null ? 'combine inferred' : '',
			match.fates[k]?.inDoubt ? 'in doubt: another reading fits almost as well' : '',
		].filter((t) => t !== '');
		return parts.join('; ');
	});
	return html`<h3>Load book</h3><div class="scroll"><table class="dumps">
<thead><tr><th>Dump</th><th>Combine</th><th>Fill</th><th>Unloading ended (${say.zone})</th><th class="r">Cart, ${say.unit('mass')}</th><th class="r">Reference, ${say.unit('mass')}</th><th class="r">Monitor, ${say.unit('mass')}</th><th class="r">Error, %</th><th>Status</th></tr></thead>
<tbody>${result.dumps.map((d, k) => {
		const note = notes[k]!;
		return html`<tr${d.status === 'aside' ? html` class="aside"` : null}><td class="w">${d.id}</td><td>${d.combine ?? '–'}</td><td>${d.fill ?? '–'}</td><td class="w">${say.time(match.fates[k]?.end_s ?? Number.NaN)}</td><td class="r">${say.bare(d.cart_kg, 'mass')}</td><td class="r">${say.bare(d.reference_kg, 'mass')}</td><td class="r">${say.bare(d.monitor_kg, 'mass')}</td><td class="r">${say.signed(d.error_pct, 1)}</td><td class="st"><b>${d.status === 'aside' ? 'set aside' : d.status}</b>${note === '' ? null : html` <small>${note}</small>`}</td></tr>`;
	})}</tbody></table></div>`;
}

function unweighed(run: Run, say: Say): Markup {
	const rows = run.result.unweighed;
	return html`<h3>Fills without a weight of their own</h3><div class="scroll"><table>
<thead><tr><th>Combine</th><th>From (${say.zone})</th><th>To</th><th class="r">Monitor, ${say.unit('mass')}</th><th class="r">Deduced, ${say.unit('mass')}</th><th>Why</th></tr></thead>
<tbody>${rows.map(
		(u) =>
			html`<tr><td>${u.combine}</td><td class="w">${say.time(seconds(u.start))}</td><td class="w">${say.time(seconds(u.end))}</td><td class="r">${say.bare(u.monitor_kg, 'mass')}</td><td class="r">${say.bare(u.deduced_kg, 'mass')}</td><td>${u.reason}</td></tr>`,
	)}</tbody></table></div>`;
}

const seconds = (iso: string | null): number => (iso === null ? Number.NaN : Date.parse(iso) / 1000);
