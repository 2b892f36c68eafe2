const YES: ReadonlySet<string> = new Set(['1', 'yes', 'y', 'true', 'on', 'down']);
const NO: ReadonlySet<string> = new Set(['0', 'no', 'n', 'false', 'off', 'up']);

/** 1 for yes, 0 for no, −1 for blank, or null for any other text. */
export function yesNo(text: string): -1 | 0 | 1 | null {
	const word = text.trim().toLowerCase();
	if (word === '') return -1;
	// "1.0" is a yes, too.
	if (YES.has(word) || Number(word) === 1) return 1;
	return NO.has(word) || Number(word) === 0 ? 0 : null;
}
