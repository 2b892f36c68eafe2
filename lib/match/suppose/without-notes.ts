import type { Dump } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of notes on emptied tanks that say nothing, such as one answer for all or yes and no exchanged, nats. */
const NOTHING = 6;

/** Whether most notes say that grain stayed, which explains any weight: a wrong answer for all costs little fit. */
export function mostlyKept(dumps: readonly Dump[]): boolean {
	return dumps.reduce((sum, { emptied }) => sum + (emptied < 0 ? 0 : 0.5 - emptied), 0) > 0;
}

/** The field without the notes of whether tanks were emptied. */
export function withoutNotes({ input }: Explained): Supposition[] {
	const { book } = input;
	if (book.dumps.filter((d) => d.emptied >= 0).length < 2) return [];
	const dumps = book.dumps.map((d) => ({ ...d, emptied: -1 as const }));
	return [
		{
			input: { ...input, book: { ...book, dumps } },
			price: NOTHING,
			caution:
				'The weights fit the logs only where the notes of emptied tanks are set aside: perhaps one answer was entered for all dumps, or yes and no were exchanged. Check the column emptied in the cart log.',
			undo() {},
		},
	];
}
