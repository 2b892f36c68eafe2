/** One line of the table: a ratio within this run, or a time against a stated bound. */
export interface Row {
	what: string;
	/** What was measured, and what it is held against. */
	value: number;
	unit: string;
	bound: number | null;
	/** At least the bound, rather than at most. */
	least?: boolean;
	note: string;
}

export function table(rows: readonly Row[]): string {
	const number = (x: number) => (x >= 100 ? x.toFixed(0) : x >= 10 ? x.toFixed(1) : x.toFixed(2));
	const cells = rows.map((r) => [
		r.what,
		`${number(r.value)} ${r.unit}`,
		r.bound === null ? '' : `${r.least ? '≥' : '≤'} ${r.bound} ${r.unit}`,
		r.bound === null ? '' : (r.least ? r.value >= r.bound : r.value <= r.bound) ? 'yes' : 'NO',
		r.note,
	]);
	const head = ['what', 'measured', 'bound', 'kept', 'of what'];
	const width = head.map((h, k) => Math.max(h.length, ...cells.map((c) => c[k]!.length)));
	const line = (c: readonly string[]) => `| ${c.map((text, k) => text.padEnd(width[k]!)).join(' | ')} |`;
	return [line(head), line(width.map((w) => '-'.repeat(w))), ...cells.map(line)].join('\n');
}

/** Milliseconds of processor time since the process began, all threads. Differences are what work took. */
export function spent_ms(): number {
	const { user, system } = process.cpuUsage();
	return (user + system) / 1000;
}
