import { type Run, stated } from '../../model/index.ts';
import { countOf, noWeightSentence, outstanding, rangeText } from '../../units/index.ts';
import { html, type Markup } from './html.ts';
import { ownerMap } from './mapped.ts';
import { known, list, type Say } from './say.ts';

/** Number of cautions that the first page shows; the full list follows it. */
const MOST_CAUTIONS = 6;

/** The page for the owner of the grain: the field, its weight, missing tickets, what was done, cautions. */
export function landlord(run: Run, say: Say): Markup {
	const { result } = run;
	const { totals } = result;
	const state = (what: Parameters<typeof stated>[1]) => stated(result.statements, what);
	const wet = state('wet_weight');
	const dry = state('dry_weight');
	const moisture = state('mean_moisture');
	const digits = say.units === 'us' ? 0 : 1;
	const interval = (text: string | null) => (text === null ? '–' : text);
	const rows: [string, string, string][] = [
		['Area cut', say.quantity(totals.area_ha, 'area', 2), ''],
		[
			`Wet weight${moisture ? `, at ${say.percent(moisture.value)} moisture on average` : ''}`,
			say.quantity(wet?.value, 'mass', 0),
			interval(wet?.interval ? say.range(wet.interval, 'mass', 0) : null),
		],
		[
			`Dry ${say.units === 'us' ? `bushels (${say.bushel})` : 'weight'}, at ${say.market}`,
			say.quantity(dry?.value, 'grain', digits),
			interval(dry?.interval ? say.range(dry.interval, 'grain', digits) : null),
		],
		[
			'Dry yield',
			say.quantity(state('mean_yield')?.value, 'yield'),
			interval(state('mean_yield')?.interval ? say.range(state('mean_yield')!.interval!, 'yield') : null),
		],
	];
	const all = result.notes.filter((n) => n.level === 'caution');
	const cautions = all.slice(0, MOST_CAUTIONS);
	return html`<section class="first"><h2>Summary for the field</h2>
<div class="scroll" tabindex="0"><table class="big"><thead><tr><td></td><th class="r">Amount</th><th class="r">95% interval</th></tr></thead>
<tbody>${rows.map(([name, value, range]) => html`<tr><td>${name}</td><td class="r">${value}</td><td class="r">${range}</td></tr>`)}</tbody></table></div>
${weights(run, say)}
${shares(run, say)}
<h3>What was done to the numbers</h3>
<p>${done(run, say)}</p>
${cautions.length === 0 ? null : html`<h3>Cautions</h3><ul class="cautions">${cautions.map((n) => html`<li>${say.own(n.text)}</li>`)}</ul>`}
${all.length > MOST_CAUTIONS ? html`<p class="soft">And ${say.number(all.length - MOST_CAUTIONS, 0)} more under Cautions.</p>` : null}
<p class="soft">Do not settle sales or crop shares on cart weights or on this report. Use tickets from a scale approved for trade. Dry weights remove water only; buyers set their own shrink.</p>
${ownerMap(run, say)}
</section>`;
}

/** Weight by ticket and by cart, and which tickets are missing. */
function weights(run: Run, say: Say): Markup | null {
	const { result } = run;
	const { trucks, reference } = result;
	if (trucks.length === 0 && result.dumps.length === 0) return null;
	const ticketed = trucks.filter((t) => t.ticket_kg !== null);
	const out = outstanding(trucks);
	const sum = (list: readonly (number | null)[]) => list.reduce<number>((s, kg) => s + (kg ?? 0), 0);
	const byTicket = sum(ticketed.map((t) => t.ticket_kg));
	const byCart = sum(out.map((t) => t.offloads_kg));
	const rows: [string, string, string][] = [];
	if (ticketed.length > 0) {
		rows.push([
			`By ticket: ${countOf(ticketed.length, 'truckload')}`,
			say.quantity(byTicket, 'mass', 0),
			'tickets taken to be from a certified scale',
		]);
	}
	if (out.length > 0) {
		rows.push([
			`By cart: ${countOf(out.length, 'truckload')} without a ticket`,
			say.quantity(byCart * reference.ratio, 'mass', 0),
			reference.source === 'tickets'
				? `cart weight × cart ratio ${say.number(reference.ratio, 4)}`
				: 'as the cart showed it',
		]);
	}
	const names = out.map((t) => t.truck_load);
	return html`<h3>Where the weight comes from</h3>
<div class="scroll" tabindex="0"><table><thead><tr><td></td><th class="r">Wet</th><td></td></tr></thead>
<tbody>${rows.map(([name, value, how]) => html`<tr><td>${name}</td><td class="r">${value}</td><td>${how}</td></tr>`)}</tbody>
${rows.length > 1 ? html`<tfoot><tr><td>By ticket and cart together</td><td class="r">${say.quantity(byTicket + byCart * reference.ratio, 'mass', 0)}</td><td></td></tr></tfoot>` : null}</table></div>
<p class="soft">The wet weight at the top is from the monitors’ records, each multiplied by its factor; this table adds up tickets and cart. Grain that was never weighed is in the first only.</p>
${names.length > 0 ? html`<p>Tickets still out: ${list(names)}.</p>` : trucks.length > 0 ? html`<p>Every truckload has its ticket.</p>` : null}`;
}

/** Each party's part of the dry grain, where field.json gives shares. */
function shares(run: Run, say: Say): Markup | null {
	const given = run.field.plan.shares ?? {};
	const parties = Object.entries(given);
	if (parties.length === 0) return null;
	const dry = stated(run.result.statements, 'dry_weight');
	const digits = say.units === 'us' ? 0 : 1;
	const total = parties.reduce((s, [, pct]) => s + pct, 0);
	return html`<h3>Shares</h3>
<div class="scroll" tabindex="0"><table><thead><tr><th>Party</th><th class="r">Share, %</th><th class="r">Dry grain at ${say.market}</th><th class="r">95% interval</th></tr></thead>
<tbody>${parties.map(([name, pct]) => {
		const part = (kg: number | undefined) => (kg === undefined ? undefined : (kg * pct) / 100);
		const range = dry?.interval;
		return html`<tr><td>${name}</td><td class="r">${say.number(pct, 2).replace(/\.?0+$/, '')}</td><td class="r">${say.quantity(part(dry?.value), 'grain', digits)}</td><td class="r">${range ? say.range([part(range[0])!, part(range[1])!], 'grain', digits) : '–'}</td></tr>`;
	})}</tbody></table></div>
${Math.abs(total - 100) > 0.01 ? html`<p class="soft">The shares given add up to ${say.percent(total)}.</p>` : null}`;
}

/** Three sentences: the scale, the monitors, the ground. */
function done(run: Run, say: Say): string {
	const { result, reference, factors } = run;
	const names = run.field.records.combines;
	const stand = factors.factors.filter(known);
	const scale =
		result.dumps.length === 0
			? stand.some((f) => f.source !== 'seams' && f.source !== 'pinned')
				? 'Weights are from tickets or from one weight of the whole field.'
				: noWeightSentence(result)
			: reference.source === 'tickets'
				? `Cart weights were multiplied by ${say.number(reference.ratio, 4)} (95% interval ${rangeText(reference.interval, 4)}), the ratio of tickets to cart over ${countOf(reference.n, 'truckload')}.`
				: `Cart weights were used as shown; the cart scale is assumed good to ±${say.percent(100 * reference.limit_rel)}, and no ticket checks it.`;
	const monitors =
		stand.length === 0
			? 'Yields are as the monitors recorded them.'
			: `Each monitor’s yields were multiplied by what its weights give: ${list(stand.map((f) => `${names[f.combine]} by ${say.number(stated(result.statements, 'factor', names[f.combine]!)?.value, 3)}`))}.`;
	const share = stated(result.statements, 'map_share')?.value;
	const ground = `Overlap was counted once, and records that do not show the yield of their place (turns, starts, stops) were left off the map, which holds ${say.percent(share, 0)} of the area; their grain is in every total.`;
	return `${scale} ${monitors} ${ground}`;
}
