import { describe, expect, it } from 'vitest';
import { answersFault, type Given } from '../../lib/intake/index.ts';
import { usualColumns, write } from './dialect.ts';
import { cut } from './field.ts';
import { intakeOf } from './read.ts';

const columns = usualColumns();
const rows = cut({ seed: 3 });
const at = (k: number) => new Date((rows[k]?.time as number) * 1000).toISOString();
const loads = `time,weight (kg),truck\n${at(100)},4100,T1\n${at(200)},3900,T1\n${at(300)},4000,T2\n`;
const files = {
	'log.csv': write(rows, columns),
	'old.csv': write(cut({ seed: 4, start: '2026-10-09T18:05:00Z' }), columns),
	'phones.csv': new TextEncoder().encode('name,phone\nX,1\nY,2\n'),
	'list.csv': new TextEncoder().encode(loads),
};
const outline = {
	file: 'b.geojson',
	kind: 'geojson' as const,
	geometry: {
		type: 'Polygon' as const,
		coordinates: [
			[
				[-180, -80],
				[180, -80],
				[180, 80],
				[-180, 80],
				[-180, -80],
			],
		],
	},
	properties: {},
	notes: [],
};
const uses = (answers: Record<string, Given>) => {
	const done = intakeOf(files, { crop: 'corn', answers }, [outline]);
	return Object.fromEntries(done.report.sources.map((s) => [s.file, `${s.use}: ${s.why}`]));
};

describe('what a source is used as', () => {
	it('is decided by what it holds, and by an answer before that', () => {
		const found = uses({});
		expect(['log.csv', 'old.csv', 'list.csv'].map((f) => found[f]?.split(':')[0])).toEqual(['log', 'log', 'cart']);
		const said = uses({ 'list.csv': { use: 'tickets' }, 'old.csv': { use: 'none' }, 'b.geojson': { use: 'none' } });
		expect(said).toMatchObject({
			'log.csv': expect.stringMatching(/^log/),
			'old.csv': 'none: left out, as answered',
			'list.csv': expect.stringMatching(/^tickets/),
			'b.geojson': 'none: left out, as answered',
		});
	});

	it('an answer that cannot be followed says why', () => {
		expect(uses({ 'list.csv': { use: 'log' } })['list.csv']).toMatch(/^none: .*no columns of positions/);
		expect(uses({ 'phones.csv': { use: 'cart' } })['phones.csv']).toMatch(
			/^none: cart as answered, but no column of weights/,
		);
		expect(answersFault({ 'list.csv': { use: 'loads' } })).toMatch(/"list.csv".*one of log, cart.*"loads"/);
	});
});
