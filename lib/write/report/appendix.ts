import { type Note, type Run, VERSION } from '../../model/index.ts';
import { html, type Markup } from './html.ts';
import type { Say } from './say.ts';

/** Rows of a list that the page shows; the full list is in result.json. */
const MOST_ROWS = 300;

/** Cautions, shown before everything else. */
export const cautions = (run: Run, say: Say): Markup | null => notesOf('caution', 'Cautions', 'cautions', run, say);

export const remarks = (run: Run, say: Say): Markup | null => notesOf('note', 'Notes', 'sources', run, say);

function notesOf(level: Note['level'], title: string, style: string, run: Run, say: Say): Markup | null {
	const list = run.result.notes.filter((n) => n.level === level);
	if (list.length === 0) return null;
	return html`<section><h2>${title}</h2><ul class="${style}">${list.map((n) => html`<li>${say.own(n.text)}</li>`)}</ul></section>`;
}

/** Everything that was given and not used, with its reason. */
export function setAside(run: Run, say: Say): Markup {
	const list = run.result.set_aside;
	if (list.length === 0) {
		return html`<section><h2>Not used</h2><p>Every row and weight was used.</p></section>`;
	}
	return html`<section><h2>Not used</h2>
<p class="lead">Rows and weights that were given and not used, with the reason.</p>
<div class="scroll" tabindex="0"><table><thead><tr><th>File</th><th class="r">Row</th><th>Column</th><th>Found</th><th>Why</th></tr></thead>
<tbody>${list
		.slice(0, MOST_ROWS)
		.map(
			(s) =>
				html`<tr><td>${s.file}</td><td class="r">${s.row ?? '–'}</td><td>${s.column ?? '–'}</td><td>${s.found}</td><td>${say.own(s.why)}</td></tr>`,
		)}</tbody></table></div>
${list.length > MOST_ROWS ? html`<p class="soft">And ${say.number(list.length - MOST_ROWS, 0)} more, all in result.json.</p>` : null}</section>`;
}

export function inputs(run: Run, say: Say): Markup {
	return html`<section><h2>Inputs</h2>
<div class="scroll" tabindex="0"><table><thead><tr><th>File</th><th class="r">Rows</th><th class="r">Bytes</th><th>SHA-256</th></tr></thead>
<tbody>${run.field.inputs.map(
		(f) =>
			html`<tr><td>${f.file}</td><td class="r">${f.rows > 0 ? say.number(f.rows, 0) : '–'}</td><td class="r">${say.number(f.bytes, 0)}</td><td class="hash">${f.sha256}</td></tr>`,
	)}</tbody></table></div></section>`;
}

/** The method in a few sentences with its sources. */
export function method(): Markup {
	return html`<section><h2>Method, in short</h2>
<ul class="sources">
<li>Cart ratio: ratio of sums over truckloads with both weights; interval by Student’s t (Cochran, <i>Sampling Techniques</i>, 3rd ed., ch. 6).</li>
<li>Dumps are matched with the tank loads of each combine in order of time, by weights, levels of tank and cart, the unloading auger and the clock. Every dump ends with a status and a reason.</li>
<li>All weights are solved together for the factors. Uncertainties follow the <i>Guide to the Expression of Uncertainty in Measurement</i> (JCGM 100:2008, JCGM 101); degrees of freedom by its G.4.</li>
<li>The delay from header to sensor is the one at which neighboring passes match best (Beal and Tian 2001, <i>Applied Engineering in Agriculture</i> 17:385). Grain mixes on its way like a first-order response (Arslan 2008, <i>Sensors</i> 8:952).</li>
<li>Records are screened as published (Simbahan, Dobermann and Ping 2004, <i>Agronomy Journal</i> 96:1091; Lyle, Bryan and Ostendorf 2014, <i>Precision Agriculture</i> 15:377; Leroux et al. 2018, <i>Precision Agriculture</i> 19:789). They are scaled, never smoothed; only the grid smooths.</li>
<li>A cell’s mean is the best linear estimate from the stretches of passes around it (ordinary block kriging), with the errors of monitor, pass and receiver learned from the field. Its standard error includes factor and moisture.</li>
<li>Area is laid down in order of time, and overlap is counted once. Dry weight = wet weight × (100 − M) / (100 − M<sub>standard</sub>), M the moisture on wet basis.</li>
<li>The “95% interval” of a factor or total covers this field; a “standard error” is about half as wide as a 95% interval is to either side.</li>
</ul>
<footer>Steelyard ${VERSION}. Do not settle sales or crop shares on cart weights or on this report. Use tickets from a scale approved for trade.</footer></section>`;
}
