import type { Run } from '../../model/index.ts';
import { html, type Markup } from './html.ts';
import type { Say } from './say.ts';

interface Reading {
	column: string;
	as: string;
	unit: string;
	because: string;
}

/** How each column of the exports was read, if an intake made the folder; null if not. */
export function readings(run: Run, say: Say): Markup | null {
	const files = columnsByFile(run.field.plan.intake);
	if (files.length === 0) return null;
	return html`<section><h2>How columns were read</h2>
<p class="lead">This field came from exports. Columns were read by their names and by what their values do.</p>
${files.map(
	({ file, columns }) => html`<h3>${file}</h3>
<div class="scroll" tabindex="0"><table><thead><tr><th>Column</th><th>Read as</th><th>Unit</th><th>Because</th></tr></thead>
<tbody>${columns.map((c) => html`<tr><td>${c.column}</td><td>${c.as}</td><td>${c.unit}</td><td>${say.own(c.because)}</td></tr>`)}</tbody></table></div>`,
)}</section>`;
}

/** field.json may have been edited by hand: what does not have the expected shape is left out. */
function columnsByFile(intake: unknown): { file: string; columns: Reading[] }[] {
	return list(entry(intake, 'columns'))
		.map((f) => ({
			file: text(entry(f, 'file')),
			columns: list(entry(f, 'columns')).map((c) => ({
				column: text(entry(c, 'column')),
				as: text(entry(c, 'as')),
				unit: text(entry(c, 'unit')),
				because: list(entry(c, 'because')).map(text).join('; '),
			})),
		}))
		.filter((f) => f.columns.length > 0);
}

const entry = (of: unknown, key: string): unknown =>
	typeof of === 'object' && of !== null ? (of as Record<string, unknown>)[key] : undefined;
const list = (of: unknown): unknown[] => (Array.isArray(of) ? of : []);
const text = (of: unknown): string => (typeof of === 'string' || typeof of === 'number' ? String(of) : '–');
