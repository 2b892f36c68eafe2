/** Opens a field on the page: served by `view`, dropped as files, or kept from last time. */
import { batch, effect, signal } from '@preact/signals';
import { faultText, type Scene } from '../../lib/model/index.ts';
import { unpackScene } from '../../lib/model/scene.ts';
import { checking } from '../import/state.ts';
import { edits, forget, history } from '../state/edits.ts';
import { held, lit, origin, scene, selection, status } from '../state/field.ts';
import { contentKey, keepFiles, keepWork, lastFiles, workOn } from '../state/persist.ts';
import type { Edits, ExportName, GivenFile } from '../state/protocol.ts';
import { strings } from '../strings/index.ts';
import { hasRun, openResults, prepare, runFiles, solveAgain, unzipInWorker, WorkFault, WorkStopped } from './client.ts';

/** Files of the open field; null where only its scene is loaded (files are fetched when needed). */
const sources = signal<GivenFile[] | null>(null);
/** A message in a line over the map. */
export const notice = signal<string | null>(null);
/** The scene before the last change, to show the change's effect. */
export const previous = signal<Scene | null>(null);
let key: string | null = null;
let applied: Edits | null = null;

/** Opens the served field, or else the one that was open last. */
export async function start(served: boolean): Promise<void> {
	if (served && (await openServed())) return;
	const kept = await lastFiles().catch(() => null);
	if (kept) await openFiles(kept, false);
	else status.value = { kind: 'empty' };
}

async function openServed(): Promise<boolean> {
	status.value = { kind: 'working', stage: 'open', share: 0 };
	const answer = await fetch('./opened/scene.bin').catch(() => null);
	if (!answer?.ok) return false;
	show(unpackScene(await answer.arrayBuffer()), 'served');
	await bringBack();
	// Draw the map first.
	setTimeout(() => prepareRun().catch(() => {}), 1000);
	return true;
}

async function prepareRun(): Promise<void> {
	const opened = scene.peek();
	const files = await sourceFiles();
	if (scene.peek() === opened && origin.peek() === 'served' && !(await hasRun())) await prepare(files, null);
}

function show(s: Scene, from: NonNullable<typeof origin.value>): void {
	batch(() => {
		scene.value = s;
		origin.value = from;
		status.value = { kind: 'open' };
		selection.value = null;
		lit.value = held.value = null;
		previous.value = null;
		checking.value = false;
		applied = { pins: s.facts.plan?.pins ?? {}, flags: s.facts.plan?.flags ?? {} };
		forget(applied);
		key = contentKey(s);
	});
}

/** Restores work on the same files from an earlier visit. */
async function bringBack(): Promise<void> {
	if (!key) return;
	const kept = await workOn(key).catch(() => null);
	if (!kept || (kept.past.length === 0 && kept.future.length === 0)) return;
	notice.value = strings.work.broughtBack(kept.past.length);
	history.value = kept;
}

/** Opens files that were dropped or chosen, of any kind. */
export async function openFiles(given: GivenFile[], remember = true): Promise<void> {
	notice.value = null;
	await guarded(async () => {
		status.value = { kind: 'working', stage: 'open', share: 0 };
		const { files, left } = rooted(await spread(given));
		const names = new Set(files.map((f) => f.name));
		if (!names.has('field.json') && names.has('result.json')) {
			show(await openResults(files), 'results');
			if (left.length > 0) notice.value = strings.work.onlyOne(left);
			return;
		}
		if (!names.has('field.json')) {
			const { check } = await import('./check.ts');
			await check(files);
			return;
		}
		sources.value = files;
		const kept =
			!remember ||
			(await keepFiles(files).then(
				() => true,
				() => false,
			));
		show(await runFiles(files, null), 'files');
		await bringBack();
		if (left.length > 0) notice.value = strings.work.onlyOne(left);
		if (!kept) notice.value = strings.work.filesNotKept;
	}, given);
}

/** Replaces zips of a field folder or of results by the files in them. */
async function spread(given: GivenFile[]): Promise<GivenFile[]> {
	const out: GivenFile[] = [];
	for (const file of given) {
		if (/\.zip$/i.test(file.name) && !given.some((f) => f.name.endsWith('result.json'))) {
			out.push(...((await unzipInWorker(file).catch(asItIs)) ?? [file]));
		} else out.push(file);
	}
	return out;
}

/** A zip that cannot be opened stays among the files, and what was read of it is told there. */
function asItIs(fault: unknown): null {
	if (!(fault instanceof WorkFault)) throw fault;
	return null;
}

/** Names relative to the folder that holds field.json (or result.json), and the folders of other fields that were given. */
function rooted(files: GivenFile[]): { files: GivenFile[]; left: string[] } {
	const mains = files
		.map((f) => f.name)
		.filter((n) => /(^|\/)(field|result)\.json$/.test(n))
		.sort((a, b) => a.split('/').length - b.split('/').length || (a < b ? -1 : 1));
	const [root = '', ...others] = mains.map((main) => main.slice(0, main.lastIndexOf('/') + 1));
	const left = [...new Set(others)].filter((folder) => !folder.startsWith(root)).map((folder) => folder.slice(0, -1));
	const own = files
		.filter((f) => f.name.startsWith(root) && !f.name.split('/').some((p) => p.startsWith('.')))
		.map((f) => ({
			name: f.name.slice(root.length),
			blob: f.blob,
		}));
	return { files: own, left };
}

export async function guarded(work: () => Promise<void>, files: GivenFile[] | null): Promise<void> {
	try {
		await work();
	} catch (fault) {
		if (fault instanceof WorkStopped) {
			notice.value = strings.work.stopped;
			status.value = scene.value ? { kind: 'open' } : { kind: 'empty' };
			return;
		}
		const faults =
			fault instanceof WorkFault && fault.faults.length > 0
				? fault.faults.map(faultText)
				: [String((fault as Error).message)];
		status.value = { kind: 'fault', faults };
		// Offer the mapping step for a log with other column names.
		if (files && fault instanceof WorkFault && fault.faults.some((f) => f.column !== null)) unmapped.value = files;
	}
}

/** Files that failed because of a missing column; the mapping step can fix that. */
export const unmapped = signal<GivenFile[] | null>(null);

/** Source files of the open field, fetched from `view` if necessary. */
export async function sourceFiles(): Promise<GivenFile[]> {
	if (sources.value) return sources.value;
	const list = (await (await fetch('./opened/files.json')).json()) as { name: string }[];
	const files = await Promise.all(
		list.map(async ({ name }) => {
			const path = name.split('/').map(encodeURIComponent).join('/');
			return { name, blob: await (await fetch(`./opened/file/${path}`)).blob() };
		}),
	);
	sources.value = files;
	return files;
}

let following: Promise<void> | null = null;

/** Solves again with the current pins until no more changes have been made meanwhile. */
async function follow(): Promise<void> {
	while (JSON.stringify(edits.value) !== JSON.stringify(applied)) {
		const next = edits.value;
		const old = scene.value;
		await guarded(async () => {
			const made = (await hasRun()) ? await solveAgain(next) : await runFiles(await sourceFiles(), next);
			batch(() => {
				previous.value = old;
				scene.value = made;
				status.value = { kind: 'open' };
			});
		}, null);
		applied = next;
	}
}

// Save every step to disk before solving.
effect(() => {
	const now = history.value;
	const s = scene.peek();
	if (!s || !key || origin.peek() === 'results') return;
	const name = s.facts.field.name;
	const place = key;
	if (now.past.length + now.future.length > 0)
		keepWork(place, name, now).catch(() => (notice.value = strings.work.notKept));
	following ??= follow().finally(() => (following = null));
});

/** Makes sure that the worker holds a run, which exports need. */
export async function readyRun(): Promise<void> {
	if (!(await hasRun())) {
		const old = scene.value;
		await runFiles(await sourceFiles(), edits.value);
		status.value = old ? { kind: 'open' } : { kind: 'empty' };
	}
}

export type { ExportName };
