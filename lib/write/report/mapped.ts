import { FLAGS, type Run, stated } from '../../model/index.ts';
import { FLAG_WORDS, thresholdWords } from '../../units/index.ts';
import { html, type Markup } from './html.ts';
import { changeClasses, errorClasses, type Legend, legend, mapPicture, shownCells, yieldClasses } from './picture.ts';
import type { Say } from './say.ts';

/** The corrected map alone, for the first page; null if there is none. */
export function ownerMap(run: Run, say: Say): Markup | null {
	const values = shownCells(run.surface.yield_kg_ha, say);
	const classes = yieldClasses(values);
	const unit = say.unit('yield');
	const text = html`Dry yield at ${say.market}, ${unit}; darker is more`;
	return figure(run, say, { values, classes, unit, counts: false, label: 'Yield map, north up' }, text);
}

/** A map with its legend; null if no cell has a value. */
function figure(run: Run, say: Say, drawn: Legend & { label: string }, text: Markup): Markup | null {
	const picture = mapPicture(run, say, drawn);
	if (picture === null) return null;
	return html`<figure>${picture}<div class="legend">${legend(say, drawn)}</div><figcaption>${text}</figcaption></figure>`;
}

/** Before and after on the same color scale, the change and the standard error. */
export function maps(run: Run, say: Say): Markup {
	const { surface } = run;
	const after = shownCells(surface.yield_kg_ha, say);
	const before = shownCells(surface.monitor_kg_ha, say);
	const classes = yieldClasses(Float64Array.from([...after, ...before]));
	const unit = say.unit('yield');
	const change = after.map((v, k) => (before[k]! > 0 ? 100 * (v / before[k]! - 1) : Number.NaN));
	const changed = change.some((v) => Math.abs(v) > 0.005);
	const yields = (values: Float64Array, label: string, text: string) =>
		figure(run, say, { values, classes, unit, counts: changed, label }, html`<b>${text}</b>`);
	const corrected = yields(after, 'Corrected yield, north up', changed ? 'Corrected' : 'As recorded');
	if (corrected === null)
		return html`<section><h2>Map</h2><p>No cell of the map is supported by records.</p></section>`;
	const errors = shownCells(surface.se_kg_ha, say);
	const errorFigure = figure(
		run,
		say,
		{ values: errors, classes: errorClasses(errors), unit, counts: false, label: 'Standard error, north up' },
		html`<b>Standard error</b> of a cell’s mean; darker is less certain. The true mean is within it about two times in three, if the model fits.`,
	);
	const lead = `Mean dry yield of each cell of ${say.quantity(surface.cell_m, 'length', 0)} at ${say.market}, in ${unit}; darker is more.`;
	if (!changed) {
		return html`<section><h2>Map</h2>
<p class="lead">${lead} Nothing was corrected: yields are as recorded.</p>
<div class="maps">
${corrected}
${errorFigure}
</div>
${facts(run, say)}
</section>`;
	}
	const changeFigure = figure(
		run,
		say,
		{
			values: change,
			classes: changeClasses(change),
			unit: '%',
			counts: false,
			label: 'Change by correction, north up',
			lined: true,
		},
		html`<b>What correction changed</b>, percent of the recorded yield; lined: less`,
	);
	return html`<section><h2>Map</h2>
<p class="lead">${lead} Both maps have the same color scale, the same records and the same ground.</p>
<div class="maps">
${yields(before, 'Yield as recorded, north up', 'As recorded')}
${corrected}
</div>
<div class="maps pair">
${changeFigure}
${errorFigure}
</div>
${facts(run, say)}
</section>`;
}

function facts(run: Run, say: Say): Markup {
	const { surface } = run;
	const deblur =
		surface.deblur_gain_pct > 0
			? ` The grid is corrected for grain mixing on its way to the sensor. Neighboring passes then match ${say.number(surface.deblur_gain_pct, 1)}% better.`
			: '';
	const mean = stated(run.result.statements, 'cell_error')?.value;
	const share = surface.changedShare ?? Number.NaN;
	const change =
		share > 0
			? ` In ${say.percent(100 * share, 0)} of the cells the correction is larger than twice its own standard error.`
			: '';
	const known = surface.spread;
	const spread = known
		? ` The crop varies by ${say.percent(100 * known.sill)} about its mean and loses two thirds of its likeness over ${say.quantity(known.range_m, 'length', 0)}. Standard error of a single record: ${say.percent(100 * known.white)}; of a whole pass: ${say.percent(100 * known.pass)}.`
		: '';
	return html`<p class="soft">Typical standard error of a cell: ${say.percent(mean)}.${change}${deblur}${spread}</p>`;
}

/** What each flag took off the map, in records and in grain. */
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
	const limits = (word: string) => {
		const each = field.records.combines.flatMap((name) => {
			const value = run.track.thresholds[`${name}.${word}`];
			const words = value === undefined ? null : thresholdWords(word, value, say.units, say.crop);
			return words === null ? [] : [{ name, ...words }];
		});
		const [first] = each;
		if (!first) return 'no threshold: yes or no';
		const learned = field.plan.flags[word] === undefined ? first.learned : 'set by hand';
		const alike = each.every((e) => e.limit === first.limit);
		return `${alike ? first.limit : each.map((e) => `${e.name}: ${e.limit}`).join('; ')} (${learned})`;
	};
	return html`<section><h2>Left off the map</h2>
<p class="lead">A record is left off where its yield does not belong to its place. It stays in the points files and in every total. The word in parentheses is its flag in the files.</p>
<div class="scroll" tabindex="0"><table><thead><tr><th>Why</th><th>Threshold, and how it was learned</th><th class="r">Records</th><th class="r">%</th><th class="r">Weight, ${say.unit('mass')}</th><th class="r">%</th></tr></thead>
<tbody>${rows.map((r) => html`<tr><td>${FLAG_WORDS[r.word]} (${r.word})</td><td>${limits(r.word)}</td>${line(r)}</tr>`)}</tbody>
<tfoot><tr><td>Together</td><td></td>${line({ count: flagged, kg: flaggedKg })}</tr></tfoot></table></div></section>`;
}

/** Masses and areas side by side, and their differences. */
export function totals(run: Run, say: Say): Markup {
	const { result, track, surface, field } = run;
	const { totals: t } = result;
	const areas = track.areas;
	const kg = (v: number) => (v > 0 ? say.bare(v, 'mass', 0) : '–');
	const mapped_ha = mappedArea_ha(run);
	const account_kg = Object.values(result.combines).reduce((s, c) => s + c.account_kg, 0);
	return html`<section><h2>Totals</h2>
<div class="cols">
<div><table><thead><tr><th>Weight</th><th class="r">${say.unit('mass')}</th></tr></thead><tbody>
<tr><td>Monitors, as recorded</td><td class="r">${kg(t.monitor_kg)}</td></tr>
<tr><td>Monitors, sensor faults filled in</td><td class="r">${kg(account_kg)}</td></tr>
<tr><td>Corrected (× factor), wet</td><td class="r">${kg(t.corrected_kg)}</td></tr>
<tr><td>Cart, dumps used</td><td class="r">${kg(t.cart_kg)}</td></tr>
<tr><td>Tickets</td><td class="r">${kg(t.ticket_kg)}</td></tr>
<tr><td>Dry at ${say.market}</td><td class="r">${kg(t.dry_kg)}</td></tr>
${say.units === 'us' ? html`<tr><td>Dry bushels (${say.bushel})</td><td class="r">${say.number(t.dry_bu, 0)} bu</td></tr>` : null}
</tbody></table></div>
<div><table><thead><tr><th>Area</th><th class="r">${say.unit('area')}</th></tr></thead><tbody>
<tr><td>Cut, overlap counted once</td><td class="r">${say.bare(areas.cut_m2 / 10_000, 'area')}</td></tr>
<tr><td>Distance × header width, header down</td><td class="r">${say.bare(areas.distanceTimesSwath_m2 / 10_000, 'area')}</td></tr>
<tr><td>Within the boundary</td><td class="r">${say.bare(Number.isFinite(areas.boundary_m2) ? areas.boundary_m2 / 10_000 : null, 'area')}</td></tr>
<tr><td>Cells of the map</td><td class="r">${say.bare(mapped_ha, 'area')}</td></tr>
${display(run, say)}
</tbody></table></div></div>
<p class="soft">${closure(run, say)} ${surface.closure && field.plan.destinations && Object.keys(field.plan.destinations).length > 0 ? 'Dry weights remove water only; buyers set their own shrink.' : ''}</p>
</section>`;
}

function display(run: Run, say: Say): Markup[] {
	return run.field.records.combines.flatMap((name) => {
		const shownArea = run.field.plan.combines[name]?.display_total?.area_ha;
		return shownArea === null || shownArea === undefined
			? []
			: [html`<tr><td>${name}, by its own display</td><td class="r">${say.bare(shownArea, 'area')}</td></tr>`];
	});
}

function closure(run: Run, say: Say): string {
	const { closure: c } = run.surface;
	if (!Number.isFinite(c.mass_pct)) return '';
	return `Grain on the map differs from the total by ${say.signed(stated(run.result.statements, 'map_weight')?.value, 2)}%, and its area from the area cut by ${say.signed(c.area_pct, 2)}%: cells are whole squares, and records left off are filled in from nearby ones.`;
}

function mappedArea_ha(run: Run): number {
	const { surface } = run;
	let cells = 0;
	for (const y of surface.yield_kg_ha) if (Number.isFinite(y)) cells++;
	return (cells * surface.cell_m * surface.cell_m) / 10_000;
}
