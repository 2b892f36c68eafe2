import { describe, expect, it } from 'vitest';
import { runField } from '../../lib/pipeline/run.ts';
import { folderOf, simulate } from '../sim/index.ts';
import { Files, type Row } from '../sim/situations.ts';

const sim = simulate({ seed: 9101 });
const result = async (change: (rows: Row[]) => unknown) => {
	const files = new Files(sim.files);
	files.edit('tickets.csv', change);
	return (await runField(folderOf(files.texts), { grid: false })).result;
};

describe('tickets of which something is not used', () => {
	it('are listed with the reason', async () => {
		const found = await result((rows) => {
			rows[1]!.net_kg = String(Number(rows[1]!.net_kg) + 14_500);
			rows[2]!.moisture_pct = (Number(rows[2]!.moisture_pct) + 6).toFixed(1);
		});
		const tickets = found.set_aside.filter((s) => s.file === 'tickets.csv');
		expect(tickets).toMatchObject([
			{ row: 3, column: null, why: /% over the cart's weight/ },
			{ row: 4, column: 'moisture_pct', why: /points above .* the rest of the row is used/ },
		]);
		expect((await result(() => {})).set_aside).toEqual([]);
	});

	it('of another field: none checks the cart, and each is listed', async () => {
		const found = await result((rows) => {
			for (const r of rows) r.truck_load = `${r.ticket}`;
			for (const r of rows) r.net_kg = '9000';
		});
		expect(found.reference.source).toBe('limit');
		expect(found.set_aside).toHaveLength(4);
		expect(found.notes.map((n) => n.text).join(' ')).toMatch(/No ticket belongs to an offload of the cart log/);
	});
});
