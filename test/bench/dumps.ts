/** How the match grows with dumps: a simulated day so many times over, its logs thinned to one row in five seconds. */
import { folderOf, type Kind, simulate } from '../sim/index.ts';
import { rooms } from './door.ts';
import { type Row, spent_ms } from './row.ts';
import { tiled } from './tiled.ts';

const { accountMass, matchField, readField, scaleReference, silent } = rooms;

const EVERY = 5;

/** Rows of a log put together by fives: times are ends, masses and ways are sums. */
function thinned(text: string): string {
	const [head = '', ...rows] = text.trimEnd().split('\n');
	const columns = head.split(',');
	const at = (name: string) => columns.indexOf(name);
	const out = [head];
	for (let i = 0; i + EVERY <= rows.length; i += EVERY) {
		const cells = rows.slice(i, i + EVERY).map((r) => r.split(','));
		const all = (name: string) => cells.map((c) => Number(c[at(name)]));
		const sum = (name: string) => all(name).reduce((a, b) => a + b, 0);
		const last = cells.at(-1)!.slice();
		last[at('flow_kg_s')] = (sum('flow_kg_s') / EVERY).toFixed(3);
		last[at('interval_s')] = String(sum('interval_s'));
		last[at('distance_m')] = sum('distance_m').toFixed(3);
		last[at('auger_on')] = String(Math.max(...all('auger_on')));
		out.push(last.join(','));
	}
	return `${out.join('\n')}\n`;
}

/** Processor time of one match, milliseconds; of several the least, the first of which also compiles. */
async function matched(kind: Kind, copies: number, times: number): Promise<{ ms: number; dumps: number }> {
	const files = new Map(simulate({ seed: 301, kind }).files);
	for (const [name, text] of files) if (name.startsWith('combine-')) files.set(name, thinned(text));
	const { records, book, plan } = await readField(folderOf(tiled({ files }, copies)), {
		strict: false,
		progress: silent,
	});
	const account = accountMass(records);
	const reference = scaleReference({ book, plan });
	let ms = Infinity;
	for (let k = 0; k < times; k++) {
		const from = spent_ms();
		matchField({ records, account, track: null as never, book, plan, reference, seams: [] });
		ms = Math.min(ms, spent_ms() - from);
	}
	return { ms, dumps: book.dumps.length };
}

export async function dumps(): Promise<Row[]> {
	const three = await matched('three', 4, 3);
	const few = await matched('labeled', 20, 2);
	const many = await matched('labeled', 80, 1);
	const most = await matched('labeled', 160, 1);
	return [
		{
			what: `match, ${three.dumps} dumps of three combines, clock ± 12 h`,
			value: three.ms / 1000,
			unit: 's',
			bound: 0.5,
			note: 'the third of three runs',
		},
		{ what: `match, ${many.dumps} dumps`, value: many.ms / 1000, unit: 's', bound: 3, note: 'two combines' },
		...[many, most].map((m) => ({
			what: `match, ${m.dumps} dumps: growth`,
			value: m.ms / few.ms / (m.dumps / few.dumps),
			unit: '× linear',
			bound: 1.15,
			note: `${few.dumps} dumps in ${few.ms.toFixed(0)} ms, ${m.dumps} in ${m.ms.toFixed(0)} ms`,
		})),
	];
}
