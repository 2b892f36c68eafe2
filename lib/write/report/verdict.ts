import { type Run, stated } from '../../model/index.ts';
import { AS_RECORDED, cartSentence, monitorSentence, noWeightSentence, seamSentences } from '../../units/index.ts';
import { html, type Markup } from './html.ts';
import { FORM, known, type Say } from './say.ts';

/**
 * The agronomist's first page: the error of each monitor, the combines compared after correction, and four figures of
 * the field.
 */
export function verdict(run: Run, say: Say): Markup {
	const { result } = run;
	const state = (what: Parameters<typeof stated>[1]) => stated(result.statements, what);
	const corrected = Object.values(result.combines).some((c) => c.factor !== null);
	const sentences = [
		...Object.keys(result.combines).map((name) => `${monitorSentence(result, name)}${multiplied(run, name, say)}`),
		...result.seams.filter((s) => s.pair[0] !== s.pair[1]).flatMap((s) => seamSentences(s, corrected)),
		corrected ? cartSentence(result, 100 * run.reference.limit_rel) : `${noWeightSentence(result)} ${AS_RECORDED}`,
	];
	const mean = state('mean_yield');
	const dry = state('dry_weight');
	return html`<section class="verdict"><h2>Verdict</h2>
${sentences.map((s) => html`<p class="say">${s}</p>`)}
<dl class="figures">
${figure('Mean yield', say.bare(mean?.value, 'yield'), say.unit('yield'), `dry, at ${say.market}${mean?.interval ? `; 95% interval ${say.range(mean.interval, 'yield')} (weight and moisture only)` : ''}`)}
${figure('Dry grain', say.bare(dry?.value, 'grain', say.units === 'us' ? 0 : 1), say.unit('grain'), `${dry?.interval ? `95% interval ${say.range(dry.interval, 'grain', say.units === 'us' ? 0 : 1)}; ` : ''}${say.quantity(result.totals.corrected_kg, 'mass', 0)} wet`)}
${figure('Area cut', say.bare(result.totals.area_ha, 'area', 1), say.unit('area'), 'overlap counted once')}
${figure('On the map', say.percent(state('map_share')?.value, 0), '', 'of the area cut; the rest is left off')}
</dl>
</section>`;
}

function figure(name: string, value: string, unit: string, more: string): Markup {
	return html`<div><dt>${name}</dt><dd>${value} <span>${unit}</span></dd><dd class="more">${more}</dd></div>`;
}

function multiplied(run: Run, name: string, say: Say): string {
	const f = run.factors.factors.find((g) => run.field.records.combines[g.combine] === name);
	if (!known(f)) return '';
	const value = stated(run.result.statements, 'factor', name)?.value;
	return ` Its yields are multiplied by ${say.number(value, 3)}${f.form === 'constant' ? '' : ` on average (${FORM[f.form]})`}.`;
}
