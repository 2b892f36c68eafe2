/** The line at the top: field, whether saved, last backup, cable. */

import { Button } from '../../inputs.tsx';
import { live } from '../model/live.ts';
import { go } from '../model/route.ts';
import { book, device, field, saving } from '../model/state.ts';
import { cropName, massNumber, massUnit, t, when } from '../model/words.ts';

export function Strip() {
	const f = field.value!;
	const s = saving.value;
	const at = device.value.backup_s;
	return (
		<div class="strip">
			<button type="button" class="where" onClick={() => go('fields')}>
				<b>{f.v.name}</b>
				<span class="soft">{t.cropNames[cropName(f)] ?? cropName(f)}</span>
			</button>
			<span
				class={s.state === 'failed' ? 'saved bad' : 'saved'}
				role="status"
				aria-live="polite"
				data-entries={book.value.entries.length}
			>
				{s.state === 'saved'
					? t.saved
					: s.state === 'saving'
						? t.savingNow
						: s.state === 'failed'
							? t.notSaved(s.why)
							: ''}
			</span>
			{live.value.state === 'reading' && (
				<span class={live.value.still ? 'live still' : 'live'}>
					{massNumber(live.value.kg)} {massUnit()} {live.value.still ? t.still : t.moving}
				</span>
			)}
			<Button class="backup-at" onClick={() => go('keep')} text={at === null ? t.noBackup : t.backupAt(when(at))} />
		</div>
	);
}
