/** Saves and restores a backup file of all overrides in this browser. Files of fields are not included. */

import { notice } from '../../engine/open.ts';
import { history } from '../../state/edits.ts';
import { scene } from '../../state/field.ts';
import { type Backup, isBackup } from '../../state/kept-check.ts';
import { allWork, contentKey, keepAll } from '../../state/persist.ts';
import { strings } from '../../strings/index.ts';
import { saveAs } from './save.ts';

/** Largest backup accepted, bytes; the work of years has some megabytes. */
const LARGEST = 64 * 1024 * 1024;

export async function backupOut(): Promise<void> {
	const backup: Backup = { schema: 'steelyard.backup/1', work: await allWork() };
	await saveAs('steelyard-backup.json', new Blob([JSON.stringify(backup)], { type: 'application/json' }));
}

/** Restores each field's work unless this browser has as many steps of it already; takes nothing from a bad file. */
export async function backupIn(file: Blob): Promise<void> {
	try {
		if (file.size > LARGEST) throw new Error('size');
		const backup: unknown = JSON.parse(await file.text());
		if (!isBackup(backup)) throw new Error('schema');
		const here = new Map((await allWork()).map((w) => [w.key, w]));
		const newer = backup.work.filter(({ key, history }) => {
			const mine = here.get(key);
			return !mine || mine.history.past.length < history.past.length;
		});
		await keepAll(newer);
		const s = scene.value;
		const open = s && newer.find((work) => work.key === contentKey(s));
		if (open) history.value = open.history;
		notice.value = strings.work.backupTaken(newer.length);
	} catch {
		notice.value = strings.work.backupRefused;
	}
}
