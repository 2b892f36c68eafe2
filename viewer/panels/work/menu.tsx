/** The field's menu: opening and saving. */
import type { Ref } from 'preact';
import { useRef } from 'preact/hooks';
import { exported } from '../../engine/client.ts';
import { notice, openFiles, readyRun, sourceFiles } from '../../engine/open.ts';
import { fromList } from '../../import/gather.ts';
import { checking, seen } from '../../import/state.ts';
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
			<button type="button" popovertarget="field-menu">
				{t.field}
			</button>
			<div id="field-menu" class="menu" popover="auto" ref={menu}>
				<section>
					<h2>{t.open}</h2>
					<button type="button" onClick={() => files.current?.click()}>
						{t.openFiles}
					</button>
					<button type="button" onClick={() => folder.current?.click()}>
						{t.openFolder}
					</button>
					{seen.value && !checking.value && (
						<button
							type="button"
							onClick={() => {
								close();
								checking.value = true;
							}}
						>
							{imports.back}
						</button>
					)}
					<button type="button" onClick={() => backup.current?.click()}>
						{t.backupIn}
					</button>
				</section>
				<section>
					<h2>{t.save}</h2>
					<button type="button" disabled={!run} onClick={() => saveFieldJson().finally(close)}>
						{t.saveField}
					</button>
					<button type="button" disabled={!open} onClick={() => backupOut().finally(close)}>
						{t.backupOut}
					</button>
					<button
						type="button"
						disabled={!open}
						onClick={() => import('../../map/layers/picture.ts').then((m) => m.savePicture()).finally(close)}
					>
						{t.picture}
					</button>
				</section>
				<section>
					<h2>{t.export}</h2>
					{exports.map((name) => (
						<button key={name} type="button" disabled={!run} onClick={() => save(name).finally(close)}>
							{t.exports[name]}
						</button>
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
					<button type="button" disabled={!changed.value} onClick={undo} title={history.value.past.at(-1)?.label}>
						{t.undo}
					</button>
					<button
						type="button"
						disabled={history.value.future.length === 0}
						onClick={redo}
						title={history.value.future[0]?.label}
					>
						{t.redo}
					</button>
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
			<button type="button" class="main" onClick={press('open-folder')}>
				{t.openFolder}
			</button>
			<button type="button" onClick={press('open-files')}>
				{t.openFiles}
			</button>
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
				<button type="button" onClick={props.stop}>
					{t.stop}
				</button>
			</div>
		);
	}
	if (notice.value) {
		return (
			<div class="work-bar" role="status">
				<span>{notice.value}</span>
				<button type="button" onClick={() => (notice.value = null)}>
					{t.gotIt}
				</button>
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
