import { describe, expect, it } from 'vitest';
import { accountMass } from '../../lib/account/index.ts';
import { emptyRecords, type Records } from '../../lib/model/index.ts';
import { lostNotes, lostRows } from '../../lib/read/log/lost-rows.ts';

const upTo = (n: number) => Array.from({ length: n }, (_, k) => k);

/** A machine that drives north at 2 m/s, turning east after `turn_s`; only the seconds that are kept. */
function driven(kept: readonly number[], { header = 1, turn_s = 1e9 } = {}): Records {
	const records = { ...emptyRecords(kept.length), combines: ['A'] };
	records.time_s.set(kept);
	records.interval_s.fill(1);
	records.flow_kg_s.fill(10);
	records.headerDown.fill(header);
	// It wrote with the header up, too.
	records.headerDown[0] = 0;
	records.lat_deg.set(kept.map((t) => 42 + (2 * Math.min(t, turn_s)) / 111_195));
	records.lon_deg.set(
		kept.map((t) => -93 + (2 * Math.max(0, t - turn_s)) / (111_195 * Math.cos((42 * Math.PI) / 180))),
	);
	return records;
}

const without = (from: number, to: number) => upTo(100).filter((t) => t < from || t >= to);
const lostAt = (records: Records) => [...(lostRows(records) ?? [])].filter((s) => s > 0);

describe('rows lost within a pass', () => {
	it('are the seconds before a record while the machine went straight on at its pace', () => {
		expect(lostRows(driven(upTo(100)))).toBeNull();
		const lost_s = lostRows(driven(without(40, 50)))!;
		expect(lost_s[40]).toBe(10);
		expect(lost_s.filter((s) => s > 0).length).toBe(1);
		// A single one, wherever the machine went.
		expect(lostAt(driven(without(40, 41), { turn_s: 40 }))).toEqual([1]);
	});

	it('are none where it turned, stood or was gone for longer', () => {
		expect(lostAt(driven(without(40, 50), { turn_s: 45 }))).toEqual([]);
		expect(lostAt(driven(without(40, 65)))).toEqual([]);
		const stood = driven(without(40, 50));
		for (let i = 40; i < stood.n; i++) stood.lat_deg[i]! -= 20 / 111_195;
		expect(lostAt(stood)).toEqual([]);
	});

	it('are none in a log that writes nothing while the header is up, but for single ones', () => {
		const downOnly = (kept: number[]) => {
			const records = driven(kept);
			records.headerDown[0] = 1;
			return lostAt(records);
		};
		expect(downOnly(without(40, 50))).toEqual([]);
		expect(downOnly(without(40, 41))).toEqual([1]);
		expect(lostAt(driven(without(40, 50), { header: -1 }))).toEqual([]);
	});

	it('count while the header is up wherever it went, and never where a header came down in between', () => {
		expect(lostAt(driven(without(40, 50), { header: 0, turn_s: 45 }))).toEqual([10]);
		const lowered = driven(without(40, 50), { turn_s: 45 });
		lowered.headerDown.fill(0, 0, 40);
		expect(lostAt(lowered)).toEqual([]);
	});

	it('count in the account, not in the monitor’s own sum, and are told of', () => {
		const records = driven(without(40, 58));
		records.lost_s = lostRows(records)!;
		records.interval_s.forEach((s, i) => {
			records.interval_s[i] = s + records.lost_s![i]!;
		});
		const { monitor_kg, account_kg } = accountMass(records);
		expect([monitor_kg[40], account_kg[40]]).toEqual([10, 190]);
		expect(lostNotes(records, [{ file: 'a.csv' } as never])[0]!.text).toMatch(
			/a\.csv: rows for 18 s are missing within passes, 18% /,
		);
		expect(lostNotes(driven(upTo(100)), [{ file: 'a.csv' } as never])).toEqual([]);
	});
});
