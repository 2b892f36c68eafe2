import { FLAGS, type Run } from '../../model/index.ts';
import { meanErrorShare } from './chain.ts';
import { html, type Markup } from './html.ts';
import { changeClasses, errorClasses, legend, mapPicture, shownCells, yieldClasses } from './picture.ts';
import type { Say } from './say.ts';

/** Flags in the words of the report. */
const MEANING: Record<string, string> = {
	raised: 'header up',
	standing: 'standing or crawling',
	turning: 'no steady heading',
	jolt: 'a sudden change of speed',
	filling: 'start of a pass, flow not yet built up',
	emptying: 'end of a pass, flow running out',
	flowless: 'no flow, or a value missing',
	surge: 'impossible flow',
	dropout: 'the sensor lost the flow for a moment',
	moisture: 'impossible or missing moisture',
	jump: 'the position jumps, repeats or is missing',
	outside: 'outside the boundary',
	recut: 'ground already cut',
	narrow: 'too little new width to carry a yield',
	unplaced: 'cut where no position is known',
	lone: 'not supported by neighbouring passes',
};

/** Before and after on one scale, the change and the standard error. */
export function maps(run: Run, say: Say): Markup {
	const { surface } = run;
	const after = shownCells(surface.yield_kg_ha, say);
	const before = shownCells(surface.monitor_kg_ha, say);
	const both = Float64Array.from([...after, ...before]);
	const classes = yieldClasses(both);
	const unit = say.unit('yield');
	const digits = edgeDigits(classes.edges);
	const afterMap = mapPicture(run, after, classes, 'Corrected yield, north up', say);
	if (afterMap === null) return html`<section><h2>Map</h2><p>No cell of the map is supported by records.</p></section>`;
	const change = after.map((v, k) => (before[k]! > 0 ? 100 * (v / before[k]! - 1) : Number.NaN));
	const changed = change.some((v) => Math.abs(v) > 0.005);
	const errors = shownCells(surface.se_kg_ha, say);
	const errorScale = errorClasses(errors);
	const errorFigure = html`<figure>${mapPicture(run, errors, errorScale, 'Standard error, north up', say)}<div class="legend">${legend(errorScale, errors, unit, edgeDigits(errorScale.edges), say, { counts: false })}</div><figcaption><b>Standard error</b> of a cell’s mean; the true one is within it two times in three</figcaption></figure>`;
	const lead = `Mean yield of each 10 m cell at ${say.percent(say.crop.market_moisture_pct)} moisture, in ${unit}; darker is more.`;
	if (!changed) {
		return html`<section><h2>Map</h2>
<p class="lead">${lead} Nothing was corrected: the map stands as recorded.</p>
<div class="maps">
<figure>${afterMap}<div class="legend">${legend(classes, after, unit, digits, say, { counts: false })}</div><figcaption><b>As recorded</b></figcaption></figure>
${errorFigure}
</div>
${facts(run, say)}
</section>`;
	}
	const changes = changeClasses(change);
	return html`<section><h2>Map</h2>
<p class="lead">${lead} Both maps are drawn on one scale from the same records on the same ground.</p>
<div class="maps">
<figure>${mapPicture(run, before, classes, 'Yield as recorded, north up', say)}<div class="legend">${legend(classes, before, unit, digits, say)}</div><figcaption><b>As recorded</b></figcaption></figure>
<figure>${afterMap}<div class="legend">${legend(classes, after, unit, digits, say)}</div><figcaption><b>Corrected</b></figcaption></figure>
</div>
<div class="maps pair">
<figure>${mapPicture(run, change, changes, 'Change by correction, north up', say, { lined: true })}<div class="legend">${legend(changes, change, '%', edgeDigits(changes.edges), say, { counts: false, lined: true })}</div><figcaption><b>What correction changed</b>, percent of what was recorded; lined: less</figcaption></figure>
${errorFigure}
</div>
${facts(run, say)}
</section>`;
}

function edgeDigits(edges: number[]): number {
	const step = edges.length > 1 ? edges[1]! - edges[0]! : 1;
	return Math.max(0, Math.min(4, Math.ceil(-Math.log10(step) - 1e-9)));
}

function facts(run: Run, say: Say): Markup {
	const { surface } = run;
	const deblur =
		surface.deblur_gain_pct > 0
			? ` The smear of the flow on its way to the sensor was undone in the grid, by which neighbours agree ${say.number(surface.deblur_gain_pct, 1)} % better.`
			: '';
	const mean = meanErrorShare(surface.yield_kg_ha, surface.se_kg_ha);
	const share = surface.changedShare ?? Number.NaN;
	const change =
		share > 0
			? ` In ${say.percent(100 * share, 0)} of the cells correction changed more than twice its own uncertainty.`
			: '';
	const known = surface.spread;
	const spread = known
		? ` The crop varies by ${say.percent(100 * known.sill)} about its mean and loses two thirds of its likeness over ${say.quantity(known.range_m, 'length', 0)}; a single record is off by ${say.percent(100 * known.white)}, a whole pass by ${say.percent(100 * known.pass)}.`
		: '';
	return html`<p class="soft">A cell is off by ${say.percent(100 * mean)} (one standard error, typical).${change}${deblur}${spread}</p>`;
}

/** What each flag took out of the map, in records and in grain. */
export function flags(run: Run, say: Say): Markup {
	const { yields, account, field } = run;
	const count = new Float64Array(FLAGS.length);
	const kg = new Float64Array(FLAGS.length);
	let total = 0;
	for (let i = 0; i < field.records.n; i++) {
		count[yields.flag[i]!]!++;
		kg[yields.flag[i]!]! += account.account_kg[i]!;
		total += account.account_kg[i]!;
	}
	const rows = FLAGS.map((word, code) => ({ word, count: count[code]!, kg: kg[code]! })).filter(
		(r, code) => code > 0 && r.count > 0,
	);
	const flagged = rows.reduce((s, r) => s + r.count, 0);
	const flaggedKg = rows.reduce((s, r) => s + r.kg, 0);
	const share = (part: number, whole: number) => say.number(whole > 0 ? (100 * part) / whole : Number.NaN, 1);
	const line = (r: { count: number; kg: number }) =>
		html`<td class="r">${say.number(r.count, 0)}</td><td class="r">${share(r.count, field.records.n)}</td><td class="r">${say.bare(r.kg, 'mass', 0)}</td><td class="r">${share(r.kg, total)}</td>`;
	return html`<section><h2>Kept out of the map</h2>
<p class="lead">A flagged record carries no yield worth mapping. It stays in the files, and its grain stays in every total.</p>
<div class="scroll"><table><thead><tr><th>Flag</th><th>Meaning</th><th class="r">Records</th><th class="r">%</th><th class="r">Grain, ${say.unit('mass')}</th><th class="r">%</th></tr></thead>
<tbody>${rows.map((r) => html`<tr><td>${r.word}</td><td>${MEANING[r.word] ?? ''}</td>${line(r)}</tr>`)}</tbody>
<tfoot><tr><td>Together</td><td></td>${line({ count: flagged, kg: flaggedKg })}</tr></tfoot></table></div></section>`;
}

/** Masses and areas side by side, and by how much they do not close. */
export function totals(run: Run, say: Say): Markup {
	const { result, track, surface, field } = run;
	const { totals: t } = result;
	const areas = track.areas;
	const kg = (v: number) => (v > 0 ? say.bare(v, 'mass', 0) : '–');
	const mapped_ha = mappedArea_ha(run);
	const account_kg = Object.values(result.combines).reduce((s, c) => s + c.account_kg, 0);
	return html`<section><h2>Totals</h2>
<div class="cols">
<div><table><thead><tr><th>Mass</th><th class="r">${say.unit('mass')}</th></tr></thead><tbody>
<tr><td>Monitors, as recorded</td><td class="r">${kg(t.monitor_kg)}</td></tr>
<tr><td>Monitors, sensor faults mended</td><td class="r">${kg(account_kg)}</td></tr>
<tr><td>Corrected (× factor)</td><td class="r">${kg(t.corrected_kg)}</td></tr>
<tr><td>Cart, dumps believed</td><td class="r">${kg(t.cart_kg)}</td></tr>
<tr><td>Certified tickets</td><td class="r">${kg(t.ticket_kg)}</td></tr>
<tr><td>Dry at ${say.percent(say.crop.market_moisture_pct)}</td><td class="r">${kg(t.dry_kg)}</td></tr>
${say.units === 'us' ? html`<tr><td>Dry bushels of ${say.number(say.crop.bushel_kg, 3)} kg</td><td class="r">${say.number(t.dry_bu, 0)} bu</td></tr>` : null}
</tbody></table></div>
<div><table><thead><tr><th>Ground</th><th class="r">${say.unit('area')}</th></tr></thead><tbody>
<tr><td>Cut, overlap counted once</td><td class="r">${say.bare(areas.cut_m2 / 10_000, 'area')}</td></tr>
<tr><td>Distance × swath, header down</td><td class="r">${say.bare(areas.distanceTimesSwath_m2 / 10_000, 'area')}</td></tr>
<tr><td>Within the boundary</td><td class="r">${say.bare(Number.isFinite(areas.boundary_m2) ? areas.boundary_m2 / 10_000 : null, 'area')}</td></tr>
<tr><td>Cells of the map</td><td class="r">${say.bare(mapped_ha, 'area')}</td></tr>
${display(run, say)}
</tbody></table></div></div>
<p class="soft">${closure(run, say)} ${surface.closure && field.plan.destinations && Object.keys(field.plan.destinations).length > 0 ? 'Dry weight here is water only; a buyer’s shrink is more.' : ''}</p>
</section>`;
}

function display(run: Run, say: Say): Markup[] {
	return run.field.records.combines.flatMap((name) => {
		const shownArea = run.field.plan.combines[name]?.display_total?.area_ha;
		return shownArea === null || shownArea === undefined
			? []
			: [html`<tr><td>Combine ${name}, by its own display</td><td class="r">${say.bare(shownArea, 'area')}</td></tr>`];
	});
}

function closure(run: Run, say: Say): string {
	const { closure: c } = run.surface;
	if (!Number.isFinite(c.mass_pct)) return '';
	return `The map’s cells hold ${say.signed(c.mass_pct, 2)} % against the grain of all records and ${say.signed(c.area_pct, 2)} % against the ground cut: cells are whole squares, and flagged records are filled in from their neighbours.`;
}

function mappedArea_ha(run: Run): number {
	const { surface } = run;
	let cells = 0;
	for (const y of surface.yield_kg_ha) if (Number.isFinite(y)) cells++;
	return (cells * surface.cell_m * surface.cell_m) / 10_000;
}
