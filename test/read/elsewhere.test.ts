import { createHash } from 'node:crypto';
import { expect, it } from 'vitest';
import { logInMemory, readField } from '../../lib/read/index.ts';
import { source } from './folder.ts';

/** A log beyond four megabytes: two combines in turn, a variety and a load per thousand rows, and now and then a bad row. */
function log(names: readonly string[], lon: number): string {
	const rows = ['time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct,combine,variety,load'];
	for (let i = 0; i < 60_000; i++) {
		const time = new Date(Date.UTC(2026, 9, 14, 8) + i * 1000).toISOString().slice(0, 19);
		const flow = i % 9001 === 17 ? 'none' : (18 + (i % 7) / 10).toFixed(2);
		const [name, part] = [names[Math.floor(i / 500) % names.length], Math.floor(i / 1000)];
		rows.push(
			`${time},${(42 + (i % 9000) * 2e-5).toFixed(7)},${lon},${flow},1,2.1,9.144,17.5,${name},V${part},${part}`,
		);
	}
	return `${rows.join('\n')}\n`;
}

const folder = (names: readonly (readonly string[])[]) => {
	const files = {
		'field.json': JSON.stringify({
			crop: 'corn',
			timeZone: 'America/Chicago',
			logs: names.map((_, k) => ({ file: `log-${k}.csv` })),
		}),
		...Object.fromEntries(names.map((own, k) => [`log-${k}.csv`, log(own, -93 - k / 1000)])),
	};
	return new Map(Object.entries(files).map(([name, text]) => [name, source(name, text, 1 << 16)]));
};

/** The same with each column as its kind, its length and the SHA-256 of its bytes, so that large fields are compared at once. */
function digested(value: unknown): unknown {
	if (ArrayBuffer.isView(value)) {
		const bytes = new Uint8Array(value.buffer, value.byteOffset, value.byteLength);
		return `${value.constructor.name} ${bytes.length} ${createHash('sha256').update(bytes).digest('hex')}`;
	}
	if (Array.isArray(value)) return value.map(digested);
	if (value instanceof Map || value instanceof Set) return [value.constructor.name, [...value].map(digested)];
	if (typeof value !== 'object' || value === null) return value;
	return Object.fromEntries(Object.entries(value).map(([key, entry]) => [key, digested(entry)]));
}

it('every second of the large logs may be read elsewhere: the field is the same', async () => {
	const given = folder([['Heron', 'Marten'], ['Otter', 'Heron'], ['Marten']]);
	const alone = await readField(given);
	expect(alone.records.combines).toEqual(['Heron', 'Marten', 'Otter']);
	expect(alone.setAside.length).toBeGreaterThan(10);
	const elsewhere: string[] = [];
	const shared = await readField(given, {
		elsewhere: async (input) => {
			elsewhere.push(input.log.file);
			return structuredClone(await logInMemory(structuredClone(input)));
		},
	});
	expect(elsewhere).toEqual(['log-1.csv']);
	expect(digested(shared)).toStrictEqual(digested(alone));
	// Where no thread answers, they are read here.
	const refused = await readField(given, { elsewhere: async () => undefined });
	expect(digested(refused)).toStrictEqual(digested(alone));
});

it('names more combines than records can refer to as a fault of the field', async () => {
	const names = (from: number) => Array.from({ length: 120 }, (_, k) => `C${from + k}`);
	await expect(readField(folder([names(0), names(120), names(240)]))).rejects.toThrow(/360 combines/);
});
