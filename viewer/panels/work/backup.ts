/** A backup file of everything overruled in this browser, out and in. Files of fields are not in it: they are yours. */

import { notice } from '../../engine/open.ts';
import { type History, history } from '../../state/edits.ts';
import { scene } from '../../state/field.ts';
import { allWork, contentKey, keepWork } from '../../state/persist.ts';
import { strings } from '../../strings/index.ts';
import { saveAs } from './save.ts';

interface Backup {
	schema: 'steelyard.backup/1';
	work: { key: string; name: string; history: History }[];
}

export async function backupOut(): Promise<void> {
	const backup: Backup = { schema: 'steelyard.backup/1', work: await allWork() };
	await saveAs('steelyard-backup.json', new Blob([JSON.stringify(backup)], { type: 'application/json' }));
}

/** Takes in every field's work that this browser does not have further already. */
export async function backupIn(file: Blob): Promise<void> {
	try {
		const backup = JSON.parse(await file.text()) as Backup;
		if (backup.schema !== 'steelyard.backup/1' || !Array.isArray(backup.work)) throw new Error('schema');
		const here = new Map((await allWork()).map((w) => [w.key, w]));
		let taken = 0;
		for (const work of backup.work) {
			const mine = here.get(work.key);
			if (mine && mine.history.past.length >= work.history.past.length) continue;
			await keepWork(work.key, work.name, work.history);
			taken++;
			const s = scene.value;
			if (s && contentKey(s) === work.key) history.value = work.history;
		}
		notice.value = strings.work.backupTaken(taken);
	} catch {
		notice.value = strings.work.backupRefused;
	}
}
