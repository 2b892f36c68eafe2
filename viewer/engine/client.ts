/** The page's side of the worker: requests, progress shown on the page, stopped by terminating the worker. */
import { type Scene, type SetAside, unpackScene } from '../../lib/model/index.ts';
import type { Answers, Understood } from '../import/understood.ts';
import { status } from '../state/field.ts';
import type { Answer, Ask, Edits, ExportName, GivenFile } from '../state/protocol.ts';
import { units } from '../state/settings.ts';

/** A request that failed in the worker; `faults` lists errors of the input. */
export class WorkFault extends Error {
	constructor(
		message: string,
		readonly faults: SetAside[],
	) {
		super(message);
	}
}

/** Stopped by the user. */
export class WorkStopped extends Error {}

let worker: Worker | null = null;
let last = 0;
/** The worker holds a run of the open field. */
let holdsRun = false;
/** The worker holds what was read of exported files. */
export let holdsRaw = false;
/** A run in the background, before it is needed. */
let preparing: Promise<void> | null = null;
const waiting = new Map<number, { done(answer: Answer): void; fail(fault: Error): void }>();

function start(): Worker {
	if (worker) return worker;
	worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });
	worker.addEventListener('message', ({ data }: MessageEvent<Answer>) => {
		if (data.kind === 'progress') {
			// Background work is not shown.
			if (waiting.size > (preparing === null ? 0 : 1)) {
				status.value = { kind: 'working', stage: data.stage, share: data.share };
			}
			return;
		}
		const asked = waiting.get(data.id);
		waiting.delete(data.id);
		if (data.kind === 'fault') asked?.fail(new WorkFault(data.message, data.faults));
		else asked?.done(data);
	});
	worker.addEventListener('error', (e) => {
		for (const asked of waiting.values()) asked.fail(new WorkFault(e.message, []));
		waiting.clear();
	});
	return worker;
}

type Asked = Ask extends infer A ? (A extends Ask ? Omit<A, 'id'> : never) : never;

function ask(what: Asked): Promise<Answer> {
	const id = ++last;
	const running = start();
	return new Promise((done, fail) => {
		waiting.set(id, { done, fail });
		running.postMessage({ ...what, id });
	});
}

/** Stops the current work. The page still has the files, so the next request starts a new worker. */
export function stop(): void {
	worker?.terminate();
	worker = null;
	holdsRun = false;
	holdsRaw = false;
	for (const asked of waiting.values()) asked.fail(new WorkStopped('stopped'));
	waiting.clear();
}

const sceneIn = (answer: Answer): Scene => {
	if (answer.kind !== 'scene') throw new Error('the worker answered something else');
	return unpackScene(answer.block);
};

export async function runFiles(files: GivenFile[], edits: Edits | null): Promise<Scene> {
	holdsRun = false;
	const scene = sceneIn(await ask({ kind: 'run', files, edits, quiet: false }));
	holdsRun = true;
	return scene;
}

/** Runs a field whose scene is already shown, so that the first pin and export need not wait. */
export function prepare(files: GivenFile[], edits: Edits | null): Promise<void> {
	preparing ??= ask({ kind: 'run', files, edits, quiet: true })
		.then(() => {
			holdsRun = true;
		})
		// The next request reports the error.
		.catch(() => {})
		.finally(() => {
			preparing = null;
		});
	return preparing;
}

/** True where the worker holds a run, after any background run has ended. */
export async function hasRun(): Promise<boolean> {
	await preparing;
	return holdsRun;
}

export const solveAgain = async (edits: Edits): Promise<Scene> => sceneIn(await ask({ kind: 'solve', edits }));

export const openResults = async (files: GivenFile[]): Promise<Scene> => sceneIn(await ask({ kind: 'results', files }));

/** Files of a zip that is a field folder or holds results; null for any other. */
export async function unzipInWorker(file: GivenFile): Promise<GivenFile[] | null> {
	const answer = await ask({ kind: 'unzip', file });
	return answer.kind === 'files' ? answer.files : null;
}

/** Interprets exported files; without files, those read before with other answers. */
export async function understandInWorker(files: GivenFile[] | null, answers: Answers): Promise<Understood> {
	const answer = await ask({ kind: 'understand', files, answers });
	if (answer.kind !== 'understood') throw new Error('the worker answered something else');
	holdsRaw = true;
	return answer.seen;
}

/** A field folder made from the files read. */
export async function folderInWorker(folder: string): Promise<GivenFile[]> {
	const answer = await ask({ kind: 'folder', folder });
	return answer.kind === 'files' ? (answer.files ?? []) : [];
}

export async function exported(name: ExportName): Promise<Blob> {
	const answer = await ask({ kind: 'export', name, units: units.value });
	if (answer.kind !== 'bytes') throw new Error('the worker answered something else');
	return answer.blob;
}
