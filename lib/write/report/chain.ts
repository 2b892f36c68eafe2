import type { Run } from '../../model/index.ts';
import { html, type Markup } from './html.ts';
import { count, errorOf, known, type Say } from './say.ts';
import { keptShare } from './verdict.ts';

/** Six links in the order in which trust is passed on; a hollow dot where a link is missing. */
export function chain(run: Run, say: Say): Markup {
	const links = [
		scaleLink(run, say),
		cartLink(run, say),
		dumpsLink(run),
		factorsLink(run, say),
		seamsLink(run, say),
		mapLink(run, say),
	];
	return html`<section><h2>Chain of evidence</h2>
<p class="lead soft">Each link passes its uncertainty on to the next; none can be surer than the one before it.</p>
<ol class="chain" role="list">${links.map(
		(l) =>
			html`<li${l.open ? html` class="open"` : null}><b>${l.name}</b><span class="n">${l.value}</span><small>${l.text}</small></li>`,
	)}</ol></section>`;
}

interface Link {
	name: string;
	value: string;
	text: string;
	/** Nothing stands here. */
	open: boolean;
}

function scaleLink(run: Run, say: Say): Link {
	const n = run.field.book.tickets.length;
	if (n === 0) return { name: 'Certified scale', value: '–', text: 'no ticket given', open: true };
	return {
		name: 'Certified scale',
		value: count(n, 'ticket'),
		text: say.quantity(run.result.totals.ticket_kg, 'mass', 0),
		open: false,
	};
}

function cartLink(run: Run, say: Say): Link {
	const { reference } = run;
	if (reference.source === 'none') return { name: 'Cart', value: '–', text: 'no cart weight', open: true };
	if (reference.source === 'limit') {
		return {
			name: 'Cart',
			value: `± ${say.percent(100 * reference.limit_rel)}`,
			text: 'limits taken; not checked on tickets',
			open: true,
		};
	}
	const off = 100 * (1 / reference.ratio - 1);
	return {
		name: 'Cart',
		value: `× ${say.number(reference.ratio, 4)}`,
		text: `reads ${say.number(Math.abs(off), 1)} % ${off > 0 ? 'high' : 'low'}; ${say.number(reference.interval[0], 4)} to ${say.number(reference.interval[1], 4)}`,
		open: false,
	};
}

function dumpsLink(run: Run): Link {
	const { fates, unloadings } = run.match;
	const aside = fates.filter((f) => f.status === 'aside').length;
	const unweighed = unloadings.filter((u) => u.unweighed !== null).length;
	if (fates.length === 0) return { name: 'Dumps', value: '–', text: 'none weighed', open: true };
	const rest = [
		aside > 0 ? `${aside} set aside` : '',
		unweighed > 0 ? `${count(unweighed, 'fill')} not weighed` : '',
	].filter((t) => t !== '');
	return {
		name: 'Dumps',
		value: `${fates.length - aside} of ${fates.length}`,
		text: rest.length > 0 ? rest.join(', ') : 'all used',
		open: false,
	};
}

function factorsLink(run: Run, say: Say): Link {
	const names = run.field.records.combines;
	const stand = run.factors.factors.filter(known);
	if (stand.length === 0) return { name: 'Factors', value: '–', text: 'yields stand as recorded', open: true };
	const worst = Math.max(...stand.map((f) => (f.interval[1] - f.interval[0]) / 2 / f.value));
	const first = stand[0]!;
	const many = stand.length > 1;
	return {
		name: many ? 'Factors' : 'Factor',
		value: stand.map((f) => say.number(f.value, 3)).join(' · '),
		text: many
			? `${stand.map((f) => names[f.combine]).join(' · ')}; within ± ${say.percent(100 * worst)}`
			: `± ${say.percent(100 * worst)}; error ${say.signed(errorOf(first.value), 1)} %`,
		open: false,
	};
}

function seamsLink(run: Run, say: Say): Link {
	const jumps = run.seams.jumps.filter((j) => j.combineA !== j.combineB && Number.isFinite(j.after_pct));
	if (jumps.length === 0) {
		const text =
			run.field.records.combines.length > 1 ? 'no shared line of any length' : 'one combine: nothing to compare';
		return { name: 'Seams', value: '–', text, open: true };
	}
	const worst = jumps.reduce((a, b) => (Math.abs(b.after_pct) > Math.abs(a.after_pct) ? b : a));
	const length = jumps.reduce((s, j) => s + j.length_m, 0);
	return {
		name: 'Seams',
		value: `${say.signed(worst.after_pct, 1)} %`,
		text: `left of ${say.signed(worst.before_pct, 1)} %, along ${say.quantity(length, 'distance')}`,
		open: false,
	};
}

function mapLink(run: Run, say: Say): Link {
	const { surface, yields, track } = run;
	const mean = meanErrorShare(surface.yield_kg_ha, surface.se_kg_ha);
	return {
		name: 'Map',
		value: Number.isFinite(mean) ? `± ${say.percent(100 * mean)}` : '–',
		text: `one cell of 10 m, one standard error; ${say.number(100 * keptShare(yields.flag, track.area_m2), 0)} % of the ground`,
		open: !Number.isFinite(mean),
	};
}

/** Root mean square of the cells' relative standard errors. */
export function meanErrorShare(yield_kg_ha: Float32Array, se_kg_ha: Float32Array): number {
	let sum = 0;
	let n = 0;
	for (let k = 0; k < yield_kg_ha.length; k++) {
		const share = se_kg_ha[k]! / yield_kg_ha[k]!;
		if (!Number.isFinite(share)) continue;
		sum += share * share;
		n++;
	}
	return Math.sqrt(sum / n);
}
