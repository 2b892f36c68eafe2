/** State of the working page: keyed digits, the dump whose monitor reading is requested, the open sheet. */
import { signal } from '@preact/signals';
import { find } from '../../../lib/book/index.ts';
import { putZero } from '../model/acts.ts';
import { live } from '../model/live.ts';
import { book, device, field } from '../model/state.ts';
import { toKg } from '../model/words.ts';
import { padNumber } from '../ui/pad.tsx';

export const digits = signal('');
export const emptied = signal<'yes' | 'no' | null>(null);
export const extras = signal<{ moisture_pct: number | null; testWeight_kg_hl: number | null; note: string | null }>({
	moisture_pct: null,
	testWeight_kg_hl: null,
	note: null,
});
export const asking = signal<{ dump: string; combine: string } | null>(null);
/** The last dump entered: its check is shown until the next, on its own field. */
export const latest = signal<string | null>(null);
export const overlay = signal<'truck' | 'more' | 'acts' | `how ${string}` | null>(null);

export const runningScale = (): boolean => device.value.scaleShows === 'running';

/** The weight that a tap would use: keyed, or live when stable. */
export function shown_kg(): number | null {
	if (digits.value === '') return live.value.still ? live.value.kg : null;
	const n = padNumber(digits.value);
	return n === null ? null : toKg(n);
}

/**
 * Clears the display at once, so that the next number can be keyed while this one is being written; if writing fails,
 * the keyed number is put back.
 */
export async function givingBack(act: () => Promise<unknown>): Promise<void> {
	const before = digits.value;
	digits.value = '';
	try {
		await act();
	} catch {
		// The strip shows why it failed.
		if (digits.value === '') digits.value = before;
	}
}

/** The scale was zeroed, or differs from the book's reading: its reading is accepted as it is. */
export async function zeroed(kg: number): Promise<void> {
	overlay.value = null;
	await givingBack(() => putZero(kg));
}

/** Opens the pad for a dump's monitor reading. */
export function askMonitor(dump: string, combine: string): void {
	digits.value = '';
	asking.value = { dump, combine };
}

/** The dump whose check is shown: the last one entered, if it is this field's. */
export function latestHere(): string | null {
	const d = find(book.value, 'dump', latest.value);
	return d && !d.struck && d.v.field === field.value?.id ? d.id : null;
}
