/** Answers to questions that files leave open: the files are interpreted again with each answer until a field is opened. */
import { answers, checking, given, rereading, seen } from '../import/state.ts';
import type { Answers } from '../import/understood.ts';
import { keepAnswers } from '../state/persist.ts';
import { folderInWorker, holdsRaw, understandInWorker } from './client.ts';
import { guarded, openFiles } from './open.ts';

let following: Promise<void> | null = null;

/** Records an answer; answers about the columns of a kind of file are kept for similar files. */
export function answer(place: string, about: string, value: string): void {
	answers.value = { ...answers.value, [place]: { ...answers.value[place], [about]: value } };
	const lasting: Answers = Object.fromEntries(Object.entries(answers.value).filter(([p]) => p.startsWith('header-')));
	// If an answer cannot be kept, it is only asked for again next time.
	keepAnswers(lasting).catch(() => undefined);
	following ??= follow().finally(() => (following = null));
}

async function follow(): Promise<void> {
	rereading.value = true;
	try {
		for (let taken: Answers | null = null; taken !== answers.value; ) {
			taken = answers.value;
			const now = taken;
			await guarded(async () => {
				seen.value = await understandInWorker(holdsRaw ? null : given.value, now);
			}, null);
		}
	} finally {
		rereading.value = false;
	}
}

/** Opens a field of what was read on the map. */
export async function openChecked(folder: string): Promise<void> {
	await guarded(async () => {
		if (!holdsRaw) seen.value = await understandInWorker(given.value, answers.value);
		const files = await folderInWorker(folder);
		checking.value = false;
		await openFiles(files);
	}, null);
}
