/** Opens the field's rows of the book together with the monitors' logs on the map. */
import { signal } from '@preact/signals';
import { expectedLogs, exportField } from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { show } from '../../state/settings.ts';
import { giveFile } from '../model/files.ts';
import { allCombines, book, field } from '../model/state.ts';
import { t } from '../model/words.ts';
import { Menu } from '../ui/parts.tsx';

interface Log {
	file: File;
	combine: string;
}
const logs = signal<Log[]>([]);
const said = signal<string | null>(null);

export function WithLogs() {
	const f = field.value;
	if (!f) return null;
	return (
		<section class="card" aria-label={t.withLogs(f.v.name)}>
			<h3>{t.withLogs(f.v.name)}</h3>
			<p class="soft">{t.withLogsText}</p>
			<label class="button file">
				{t.chooseLogs}
				<input
					type="file"
					accept=".csv,.txt,text/csv"
					multiple
					onChange={(e) => {
						const more = [...(e.currentTarget.files ?? [])].map((file) => ({ file, combine: guess(file.name) }));
						const names = new Set(more.map((l) => l.file.name));
						logs.value = [...logs.value.filter((l) => !names.has(l.file.name)), ...more];
						e.currentTarget.value = '';
					}}
				/>
			</label>
			{logs.value.map((l, i) => (
				<Menu
					key={l.file.name}
					label={l.file.name}
					value={l.combine}
					options={allCombines.value.map((c) => [c.v.name, c.v.name] as const)}
					set={(combine) => {
						logs.value = logs.value.map((x, k) => (k === i ? { ...x, combine } : x));
					}}
				/>
			))}
			<div class="buttons">
				<Button class="main" onClick={() => void saveFolder(f.id, f.v.name)} text={t.saveFolder} />
				{logs.value.length > 0 && <Button onClick={() => void openTogether(f.id)} text={t.openTogether} />}
			</div>
			{said.value !== null && <p role="status">{said.value}</p>}
		</section>
	);
}

/** The field's folder as one file: book, tickets, plan and the chosen logs. */
async function saveFolder(fieldId: string, fieldName: string): Promise<void> {
	const { strToU8, zipSync } = await import('fflate');
	const given = logs.value.map((l) => ({ file: l.file.name, combine: l.combine }));
	// If no logs were chosen, field.json lists the expected file names.
	const missing = expectedLogs(book.value, fieldId).filter((e) => !given.some((g) => g.combine === e.combine));
	const listed = given.length > 0 ? given : missing;
	const texts = exportField(book.value, fieldId, listed);
	const name = `${fieldName.replace(/[^\p{L}\p{N}._-]+/gu, '-') || 'field'}.zip`;
	const files: Record<string, Uint8Array> = {};
	for (const [n, text] of Object.entries(texts)) files[n] = strToU8(text);
	for (const l of logs.value) files[l.file.name] = new Uint8Array(await l.file.arrayBuffer());
	await giveFile(name, zipSync(files), 'application/zip', false);
	said.value = `${t.folderSaved(name)} ${given.length === 0 ? t.folderNoLogs(listed.map((l) => l.file).join(', ')) : ''}`;
}

/** A file named after a combine is most likely its log: "combine-B.csv". */
function guess(name: string): string {
	const words = name.replace(/\.[^.]*$/, '').split(/[^A-Za-z0-9]+/);
	const named = allCombines.value.find((c) => words.some((w) => w.toLowerCase() === c.v.name.toLowerCase()));
	return named?.v.name ?? allCombines.value[0]?.v.name ?? 'A';
}

async function openTogether(fieldId: string): Promise<void> {
	const files = exportField(
		book.value,
		fieldId,
		logs.value.map((l) => ({ file: l.file.name, combine: l.combine })),
	);
	const { openFiles } = await import('../../engine/open.ts');
	show('map');
	await openFiles([
		...Object.entries(files).map(([name, text]) => ({ name, blob: new Blob([text]) })),
		...logs.value.map((l) => ({ name: l.file.name, blob: l.file })),
	]);
}
