/** The field's menu: opening and saving. */
import type { Ref } from 'preact';
import { useRef } from 'preact/hooks';
import { exported } from '../../engine/client.ts';
import { notice, openFiles, readyRun, sourceFiles } from '../../engine/open.ts';
import { fromList } from '../../import/gather.ts';
import { checking, seen } from '../../import/state.ts';
import { Button } from '../../inputs.tsx';
import { changed, edits, history, redo, undo } from '../../state/edits.ts';
import { origin, scene, status } from '../../state/field.ts';
import type { ExportName } from '../../state/protocol.ts';
import { imports } from '../../strings/import.ts';
import { strings } from '../../strings/index.ts';
import { backupIn, backupOut } from './backup.ts';
import { withEdits } from './field-json.ts';
import { fileName, saveAs } from './save.ts';

const t = strings.work;
const exports: ExportName[] = [
	'report.html',
	'clean.csv',
	'points.csv',
	'points.geojson',
	'swaths.geojson',
	'contours.geojson',
	'map.tif',
	'clean-points.zip',
	'points.parquet',
	'result.json',
	'columns.csv',
];

async function saveFieldJson(): Promise<void> {
	const file = (await sourceFiles()).find((f) => f.name === 'field.json');
	if (!file) return;
	const text = withEdits(await file.blob.text(), edits.value);
	if (await saveAs('field.json', new Blob([text], { type: 'application/json' }), true)) notice.value = t.savedField;
}

async function save(name: ExportName): Promise<void> {
	await readyRun();
	await saveAs(fileName(name), await exported(name));
}

export function FieldMenu() {
	const files = useRef<HTMLInputElement>(null);
	const folder = useRef<HTMLInputElement>(null);
	const backup = useRef<HTMLInputElement>(null);
	const menu = useRef<HTMLDivElement>(null);
	const close = () => menu.current?.hidePopover();
	const opening = (list: FileList | null) => {
		close();
		openFiles(fromList(list));
	};
	const open = !!scene.value;
	const run = open && origin.value !== 'results';
	return (
		<>
			<Button popovertarget="field-menu" text={t.field} />
			<div id="field-menu" class="menu" popover="auto" ref={menu}>
				<section>
					<h2>{t.open}</h2>
					<Button onClick={() => files.current?.click()} text={t.openFiles} />
					<Button onClick={() => folder.current?.click()} text={t.openFolder} />
					{seen.value && !checking.value && (
						<Button
							onClick={() => {
								close();
								checking.value = true;
							}}
							text={imports.back}
						/>
					)}
					<Button onClick={() => backup.current?.click()} text={t.backupIn} />
				</section>
				<section>
					<h2>{t.save}</h2>
					<Button disabled={!run} onClick={() => saveFieldJson().finally(close)} text={t.saveField} />
					<Button disabled={!open} onClick={() => backupOut().finally(close)} text={t.backupOut} />
					<Button
						disabled={!open}
						onClick={() => import('../../map/layers/save-picture.ts').then((m) => m.savePicture()).finally(close)}
						text={t.picture}
					/>
				</section>
				<section>
					<h2>{t.export}</h2>
					{exports.map((name) => (
						<Button key={name} disabled={!run} onClick={() => save(name).finally(close)} text={t.exports[name]} />
					))}
				</section>
			</div>
			<FileInput at={files} id="open-files" label={t.openFiles} multiple take={opening} />
			<FileInput at={folder} id="open-folder" label={t.openFolder} webkitdirectory take={opening} />
			<FileInput
				at={backup}
				label={t.backupIn}
				accept=".json"
				take={(list) => {
					close();
					const [file] = list ?? [];
					if (file) backupIn(file);
				}}
			/>
			{(changed.value || history.value.future.length > 0) && (
				<div class="joined">
					<Button disabled={!changed.value} onClick={undo} title={history.value.past.at(-1)?.label} text={t.undo} />
					<Button
						disabled={history.value.future.length === 0}
						onClick={redo}
						title={history.value.future[0]?.label}
						text={t.redo}
					/>
				</div>
			)}
		</>
	);
}

/** Buttons to open a field, for a page with nothing open. */
export function OpenButtons() {
	const press = (id: string) => () => document.getElementById(id)?.click();
	return (
		<div class="row">
			<Button class="main" onClick={press('open-folder')} text={t.openFolder} />
			<Button onClick={press('open-files')} text={t.openFiles} />
		</div>
	);
}

/** Progress of current work with a stop button, and a line for messages. */
export function WorkBar(props: { stop: () => void }) {
	const s = status.value;
	if (s.kind === 'working') {
		return (
			<div class="work-bar" role="status">
				<span>{t.stages[s.stage as keyof typeof t.stages] ?? s.stage}</span>
				<progress max={1} {...(s.stage === 'open' ? {} : { value: s.share })} aria-label={t.progress} />
				<Button onClick={props.stop} text={t.stop} />
			</div>
		);
	}
	if (notice.value) {
		return (
			<div class="work-bar" role="status">
				<span>{notice.value}</span>
				<Button onClick={() => (notice.value = null)} text={t.gotIt} />
			</div>
		);
	}
	return null;
}

/** A file input that buttons click; the same file can be chosen again. */
function FileInput(props: {
	at: Ref<HTMLInputElement>;
	label: string;
	take: (list: FileList | null) => void;
	id?: string;
	multiple?: boolean;
	accept?: string;
	webkitdirectory?: boolean;
}) {
	const { at, label, take, ...rest } = props;
	return (
		<input
			ref={at}
			type="file"
			hidden
			aria-label={label}
			{...rest}
			onChange={(e) => {
				take(e.currentTarget.files);
				e.currentTarget.value = '';
			}}
		/>
	);
}
