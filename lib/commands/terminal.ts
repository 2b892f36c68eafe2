import { type Progress, progress } from '../index.ts';

/** A table in plain text: header, rule, rows; columns listed in `right` are aligned to the right. */
export function table(
	head: readonly string[],
	rows: readonly (readonly string[])[],
	right: readonly number[] = [],
): string {
	const widths = head.map((h, c) => Math.max(h.length, ...rows.map((r) => (r[c] ?? '').length)));
	const line = (cells: readonly string[]) =>
		cells
			.map((cell, c) => (right.includes(c) ? cell.padStart(widths[c] ?? 0) : cell.padEnd(widths[c] ?? 0)))
			.join('  ')
			.trimEnd();
	return [line(head), widths.map((w) => '─'.repeat(w)).join('  '), ...rows.map(line)].join('\n');
}

/** Width assumed for a terminal, characters. */
const WIDTH = 100;

/** Wraps text to a terminal's width with `indent` blanks before each line; lines after the first are indented by two more. */
export function wrapped(text: string, indent = 0): string {
	const lines: string[] = [];
	let line = ' '.repeat(indent);
	let empty = true;
	for (const word of text.split(' ')) {
		if (!empty && line.length + 1 + word.length > WIDTH) {
			lines.push(line);
			line = ' '.repeat(indent + 2);
			empty = true;
		}
		line += empty ? word : ` ${word}`;
		empty = false;
	}
	return [...lines, line].join('\n');
}

/**
 * Text from a file made safe for a terminal: control characters could move the cursor or recolor the screen, and
 * characters for writing direction (Unicode Bidi_Control) could make a line look like another.
 */
export function plain(text: string): string {
	// biome-ignore lint/suspicious/noControlCharactersInRegex: they are removed
	return text.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]|\p{Bidi_Control}/gu, '·');
}

/** Shows progress on one line of standard error if it is a terminal, else nothing. */
export function terminalProgress(): Progress & { done(): void } {
	const tty = process.stderr.isTTY === true;
	let shown = '';
	const inner = progress((stage, share) => {
		if (!tty) return;
		const text = `${stage} ${Math.round(100 * share)} %`;
		if (text === shown) return;
		shown = text;
		process.stderr.write(`\r\u001b[K${text}`);
	});
	return {
		step: inner.step,
		done() {
			if (tty && shown !== '') process.stderr.write('\r\u001b[K');
		},
	};
}
