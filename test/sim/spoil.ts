import type { Random } from './random.ts';

/** What people hand in by mistake: a simulated field's files, spoiled after the fact. The truth stays what it was. */
export const SPOILS = [
	'flow-in-pounds',
	'weights-in-pounds',
	'distance-in-feet',
	'width-in-feet',
	'copied-log',
	'overlapping-export',
	'moisture-in-tenths',
	'moisture-as-share',
	'stray-quote',
] as const;
export type Spoil = (typeof SPOILS)[number];

type Files = Map<string, string>;

/** Spoils a field's files in one way; the file that it happened to. */
export function spoil(files: Files, how: Spoil, r: Random): string {
	const plan = JSON.parse(files.get('field.json') as string) as {
		logs: { file: string; combine?: string }[];
		cartLog?: { file: string };
	};
	const log = r.pick(plan.logs).file;
	const scale = (file: string, column: string, factor: number) => {
		files.set(file, scaled(files.get(file) as string, column, factor));
		return file;
	};
	switch (how) {
		case 'flow-in-pounds':
			for (const { file } of plan.logs) scale(file, 'flow_kg_s', 1 / 0.45359237);
			return log;
		case 'weights-in-pounds':
			return scale(plan.cartLog?.file as string, 'weight_kg', 1 / 0.45359237);
		case 'distance-in-feet':
			return scale(log, 'distance_m', 1 / 0.3048);
		case 'width-in-feet':
			return scale(log, 'swath_m', 1 / 0.3048);
		case 'moisture-in-tenths':
			return scale(log, 'moisture_pct', 10);
		case 'moisture-as-share':
			return scale(log, 'moisture_pct', 0.01);
		case 'copied-log':
			plan.logs.push({ file: 'copy.csv', combine: 'Copy' });
			files.set('copy.csv', files.get(log) as string);
			files.set('field.json', JSON.stringify(plan));
			return 'copy.csv';
		case 'overlapping-export': {
			const rows = (files.get(log) as string).trimEnd().split('\n');
			const from = 1 + r.whole(rows.length >> 1);
			files.set(log, [...rows, ...rows.slice(from, from + 500), ''].join('\n'));
			return log;
		}
		case 'stray-quote': {
			const rows = (files.get(log) as string).split('\n');
			const at = 2 + r.whole(rows.length >> 1);
			rows[at] = (rows[at] as string).replace(/,([^,]*)$/, ',"$1');
			files.set(log, rows.join('\n'));
			return log;
		}
	}
}

function scaled(text: string, column: string, factor: number): string {
	const [head, ...rows] = text.split('\n') as [string, ...string[]];
	const at = head.split(',').indexOf(column);
	const change = (row: string) => {
		const cells = row.split(',');
		const cell = cells[at];
		if (cell !== undefined && cell.trim() !== '' && Number.isFinite(Number(cell)))
			cells[at] = String(Number(cell) * factor);
		return cells.join(',');
	};
	return [head, ...rows.map(change)].join('\n');
}
