/** Shows what a file is used as, and lets the user change it. */
import type { Use } from '../../lib/index.ts';
import { answer } from '../engine/answer.ts';
import { Select } from '../inputs.tsx';
import { imports as t } from '../strings/import.ts';
import { answers } from './state.ts';
import type { SeenSource } from './understood.ts';

const TABLE: Use[] = ['log', 'cart', 'tickets', 'trace', 'none'];
const DRAWN: Use[] = ['boundary', 'varieties', 'none'];

/** Null if the file has no other possible use. */
export function UsedAs({ source: s }: { source: SeenSource }) {
	const said = answers.value[s.file]?.use;
	const drawn = s.use === 'boundary' || s.use === 'varieties' || said === 'boundary' || said === 'varieties';
	if (s.signature === null && !drawn && said === undefined) return null;
	return (
		<label class="use">
			{t.useAs}
			<Select
				aria-label={t.useAsOf(s.file)}
				value={s.use}
				options={(s.signature === null ? DRAWN : TABLE).map((use) => [use, t.uses[use]])}
				set={(use) => answer(s.file, 'use', use)}
			/>
		</label>
	);
}
