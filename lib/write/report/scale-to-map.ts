import { type Run, stated } from '../../model/index.ts';
import { countOf, rangeText, shows } from '../../units/index.ts';
import { html, type Markup } from './html.ts';
import { known, type Say } from './say.ts';

/** The six steps from scale to map; a hollow dot where one is missing. */
export function scaleToMap(run: Run, say: Say): Markup {
	const links = [
		scaleLink(run, say),
		cartLink(run, say),
		dumpsLink(run),
		factorsLink(run, say),
		seamsLink(run, say),
		mapLink(run, say),
	];
	return html`<section><h2>From scale to map</h2>
<p class="lead soft">Each step adds its own uncertainty. Comparisons between combines on one cart do not depend on that cart’s scale.</p>
<ol class="scale-to-map" role="list">${links.map(
		(l) =>
			html`<li${l.open ? html` class="open"` : null}><b>${l.name}</b><span class="n">${l.value}</span><small>${l.text}</small></li>`,
	)}</ol></section>`;
}

interface Link {
	name: string;
	value: string;
	text: string;
	/** Nothing is known of this step: a hollow dot. */
	open: boolean;
}

function scaleLink(run: Run, say: Say): Link {
	const n = run.field.book.tickets.length;
	if (n === 0) return { name: 'Certified scale', value: '–', text: 'no tickets given', open: true };
	return {
		name: 'Certified scale',
		value: countOf(n, 'ticket'),
		text: say.quantity(run.result.totals.ticket_kg, 'mass', 0),
		open: false,
	};
}

function cartLink(run: Run, say: Say): Link {
	const { reference, result } = run;
	if (reference.source === 'none' || result.dumps.length === 0) {
		return { name: 'Cart', value: '–', text: 'no cart weights', open: true };
	}
	if (reference.source === 'limit') {
		return {
			name: 'Cart',
			value: `±${say.percent(100 * reference.limit_rel)}`,
			text: 'assumed limit; not checked against tickets',
			open: true,
		};
	}
	const error = stated(result.statements, 'cart_error');
	const size = error ? `${say.number(Math.abs(error.value), 1)}% ${error.value > 0 ? 'high' : 'low'}` : '–';
	return {
		name: 'Cart',
		value: error?.interval && !shows(error.interval) ? 'no error shown' : size,
		text: `cart ratio ${say.number(reference.ratio, 4)}; 95% interval ${rangeText(reference.interval, 4)}`,
		open: false,
	};
}

function dumpsLink(run: Run): Link {
	const { dumps, unweighed } = run.result;
	const aside = dumps.filter((d) => d.status === 'aside').length;
	if (dumps.length === 0) return { name: 'Dumps', value: '–', text: 'none weighed', open: true };
	const rest = [
		aside > 0 ? `${aside} not used` : '',
		unweighed.length > 0 ? `${countOf(unweighed.length, 'tank load')} not weighed` : '',
	].filter((t) => t !== '');
	return {
		name: 'Dumps',
		value: `${dumps.length - aside} of ${dumps.length}`,
		text: rest.length > 0 ? rest.join(', ') : 'all used',
		open: false,
	};
}

function factorsLink(run: Run, say: Say): Link {
	const names = run.field.records.combines;
	const stand = run.factors.factors.filter(known);
	if (stand.length === 0) return { name: 'Factors', value: '–', text: 'yields are as recorded', open: true };
	const each = stand.map((f) => stated(run.result.statements, 'factor', names[f.combine]!)!);
	const many = each.length > 1;
	return {
		name: many ? 'Factors' : 'Factor',
		value: each.map((s) => say.number(s.value, 3)).join(' · '),
		text: each
			.map((s) => `${many ? `${s.about}: ` : '95% interval '}${s.interval ? rangeText(s.interval, 3) : '–'}`)
			.join('; '),
		open: false,
	};
}

function seamsLink(run: Run, say: Say): Link {
	const seams = run.result.seams.filter((s) => s.pair[0] !== s.pair[1] && Number.isFinite(s.after_pct));
	if (seams.length === 0) {
		const many = run.field.records.combines.length > 1;
		return {
			name: 'Seams',
			value: '–',
			text: many ? 'none long enough' : 'one combine: nothing to compare',
			open: true,
		};
	}
	const worst = seams.reduce((a, b) => (Math.abs(b.after_pct) > Math.abs(a.after_pct) ? b : a));
	const length = seams.reduce((s, j) => s + j.length_m, 0);
	return {
		name: 'Seams',
		value: `${say.signed(worst.after_pct, 1)}%`,
		text: `${worst.pair.join(' over ')}, after correction (${say.signed(worst.before_pct, 1)}% before), along ${say.quantity(length, 'distance')} of seams`,
		open: false,
	};
}

function mapLink(run: Run, say: Say): Link {
	const cell = stated(run.result.statements, 'cell_error');
	const share = stated(run.result.statements, 'map_share');
	const side = say.quantity(run.surface.cell_m, 'length', 0);
	return {
		name: 'Map',
		value: cell ? say.percent(cell.value) : '–',
		text: `typical standard error of one cell of ${side}; ${say.percent(share?.value, 0)} of the area`,
		open: cell === undefined,
	};
}
