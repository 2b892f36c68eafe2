/** Backup and transfer of the book: storage, backup, merging two tablets' books, codes, files for the field folder. */
import { computed, signal } from '@preact/signals';
import {
	bookOf,
	type Entry,
	find,
	inOrder,
	kept,
	mergeBooks,
	readBackupSteps,
	thingById,
	toCodes,
	writeBackup,
} from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { canShareFiles, giveFile } from '../model/files.ts';
import { go } from '../model/route.ts';
import { book, conflicting, device, now_s, set, write } from '../model/state.ts';
import { dayOf, t, when } from '../model/words.ts';
import { CodeShow, CodeTake } from '../ui/codes.tsx';
import { FileButton } from '../ui/file-button.tsx';
import { Care } from '../ui/parts.tsx';
import { ScaleFile } from './scale-file.tsx';
import { WithLogs } from './with-logs.tsx';

const persisted = signal<boolean | null>(null);
const joined = signal<{ added: number; conflicts: number } | { failed: string } | { share: number } | null>(null);
/** Number of last dumps shown as codes; null = none. */
const giving = signal<number | null>(null);
const codes = computed(() => (giving.value === null ? null : toCodes(lastRows(giving.value))));
const taking = signal(false);

export function KeepPage() {
	if (persisted.value === null) void navigator.storage?.persisted?.().then((p) => (persisted.value = p));
	return (
		<div class="page">
			<h2>{t.keepTitle}</h2>
			<section class="card">
				<h3>{t.safety.kept}</h3>
				<p>{t.entriesHere(book.value.entries.length, device.value.name)}</p>
				<p class={persisted.value ? 'good' : 'warn'}>{persisted.value ? t.persistYes : t.persistNo}</p>
				{!persisted.value && (
					<Button
						onClick={async () => {
							persisted.value = (await navigator.storage?.persist?.()) ?? false;
						}}
						text={t.askPersist}
					/>
				)}
			</section>
			<section class="card">
				<h3>{t.backup}</h3>
				<p class="soft">{t.backupText}</p>
				<p>
					<b>{device.value.backup_s === null ? t.noBackup : t.backupAt(when(device.value.backup_s))}</b>
				</p>
				<div class="buttons">
					<Button class="main" onClick={() => giveBackup(false)} text={t.saveBackup} />
					{canShareFiles() && <Button onClick={() => giveBackup(true)} text={t.shareBackup} />}
				</div>
			</section>
			<section class="card">
				<h3>{t.join}</h3>
				<p class="soft">{t.joinText}</p>
				<div class="buttons">
					<FileButton label={t.joinFile} accept=".json,application/json" take={takeBackup} />
					<Button onClick={() => (giving.value = 3)} text={t.showCodes} />
					<Button onClick={() => (taking.value = true)} text={t.readCodes} />
				</div>
				{joined.value && 'failed' in joined.value && <Care bad>{joined.value.failed}</Care>}
				{joined.value && 'share' in joined.value && <p role="status">{t.importing(joined.value.share)}</p>}
				{joined.value && 'added' in joined.value && (
					<p role="status">
						<b>{t.joinedText(joined.value.added)}</b>{' '}
						{joined.value.conflicts > 0 && (
							<Button class="plain" onClick={() => go('rows')} text={t.conflictsFound(joined.value.conflicts)} />
						)}
					</p>
				)}
			</section>
			<ScaleFile />
			<WithLogs />
			{codes.value && (
				<CodeShow
					key={giving.value}
					codes={codes.value}
					dumps={giving.value!}
					choose={(n) => (giving.value = n)}
					close={() => (giving.value = null)}
				/>
			)}
			{taking.value && (
				<CodeTake
					take={async (entries) => {
						taking.value = false;
						await join(entries);
					}}
					close={() => (taking.value = false)}
				/>
			)}
		</div>
	);
}

async function giveBackup(share: boolean): Promise<void> {
	const name = `load-book-${dayOf(now_s(), null)}-${device.value.name}.json`;
	try {
		await giveFile(name, writeBackup(book.value), 'application/json', share);
		set('backup_s', Math.round(now_s()));
	} catch (e) {
		// Dismissing the share sheet is not an error.
		if ((e as Error).name !== 'AbortError') joined.value = { failed: String((e as Error).message) };
	}
}

async function takeBackup(text: string, name: string): Promise<void> {
	try {
		const steps = readBackupSteps(text, name);
		for (;;) {
			const step = steps.next();
			if (step.done) {
				await join(step.value.entries);
				return;
			}
			joined.value = { share: step.value };
			// The page draws its progress.
			await new Promise((r) => setTimeout(r, 0));
		}
	} catch (e) {
		joined.value = { failed: String((e as Error).message) };
	}
}

/** Merges another book into this one: only what is not here yet is written. */
async function join(entries: readonly Entry[]): Promise<void> {
	const before = book.value;
	const here = new Set(before.entries);
	const other = bookOf(entries);
	await write((now) => mergeBooks(now, other).entries.filter((e) => !here.has(e)), null);
	joined.value = { added: book.value.entries.length - before.entries.length, conflicts: conflicting.value.length };
	// A tablet without an open field continues with the other's.
	if (find(book.value, 'field', device.value.field) === null) {
		const field_ = book.value.entries.findLast((e) => e.kind === 'field');
		if (field_) set('field', field_.thing);
	}
}

/** Contents of the codes: the last dumps with all rows that refer to them, and everything that they name. */
function lastRows(dumps: number): Entry[] {
	const all = kept(book.value, 'dump').sort(inOrder).slice(-dumps);
	const since = all[0]?.v.time_s ?? 0;
	const wanted = new Set(
		book.value.entries
			.filter((e) => Number(thingById(book.value, e.thing)!.values.time_s ?? -1) >= since)
			.map((e) => e.thing),
	);
	const named = new Set<string>();
	const collect = (v: unknown) => {
		if (typeof v === 'string') named.add(v);
		else if (Array.isArray(v)) v.forEach(collect);
	};
	for (const e of book.value.entries) if (wanted.has(e.thing)) for (const v of Object.values(e.set)) collect(v);
	// A load names its truck and destination in turn.
	for (const e of book.value.entries)
		if (e.kind === 'load' && named.has(e.thing)) for (const v of Object.values(e.set)) collect(v);
	return book.value.entries.filter((e) => wanted.has(e.thing) || named.has(e.thing));
}
