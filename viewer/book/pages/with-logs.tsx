/** When the logs come: the field's rows of the book and the monitors' logs, opened together on the map. */
import { signal } from '@preact/signals';
import { exportField } from '../../../lib/book/index.ts';
import { show } from '../../state/settings.ts';
import { book, combines, field } from '../model/state.ts';
import { t } from '../model/words.ts';
import { Menu } from '../ui/parts.tsx';

interface Log {
	file: File;
	combine: string;
}
const logs = signal<Log[]>([]);

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
						logs.value = [...(e.currentTarget.files ?? [])].map((file) => ({ file, combine: guess(file.name) }));
					}}
				/>
			</label>
			{logs.value.map((l, i) => (
				<Menu
					key={l.file.name}
					label={l.file.name}
					value={l.combine}
					options={combines.value.map((c) => [c.v.name, c.v.name] as const)}
					set={(combine) => {
						logs.value = logs.value.map((x, k) => (k === i ? { ...x, combine } : x));
					}}
				/>
			))}
			{logs.value.length > 0 && (
				<button type="button" class="main large" onClick={() => void openTogether(f.id)}>
					{t.openTogether}
				</button>
			)}
		</section>
	);
}

/** A file named after a combine is most likely its log: "combine-B.csv". */
function guess(name: string): string {
	const words = name.replace(/\.[^.]*$/, '').split(/[^A-Za-z0-9]+/);
	const named = combines.value.find((c) => words.some((w) => w.toLowerCase() === c.v.name.toLowerCase()));
	return named?.v.name ?? combines.value[0]?.v.name ?? 'A';
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
