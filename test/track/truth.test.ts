import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { accountMass } from '../../lib/account/account.ts';
import { emptyRecords, FLAGS, type Records, silent } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { trackField } from '../../lib/track/index.ts';
import { some } from '../campaign.ts';
import { OPEN_LOG, openLogThere } from '../open-log.ts';
import { plainAccount, plainPlan } from '../plain.ts';
import { type Kind, simulate } from '../sim/index.ts';

/** Seeds that no threshold was looked at with. */
const CASES: [Kind, number][] = [
	['labeled', 101],
	['labeled', 102],
	['dirty', 103],
	['dirty', 104],
	['bare', 105],
	['receivers', 106],
	['receivers-side', 107],
	['shifted', 108],
	['slow-log', 109],
	['hz0.2', 110],
	['antenna', 111],
	['three', 112],
];

/**
 * Seeds at which witnesses of the lag once misled: two combines that only meet each other, whose seams agreed a
 * little better with antennas imagined behind the cutter (B's lag then 1.4 s off at a stated 0.28 s); and crop that is
 * better at the headlands than in the middle of the passes, which shortened all lags by up to 0.9 s.
 */
const MISLED: [Kind, number][] = [
	['labeled', 714],
	['three', 863],
];

function trackSim(field: Awaited<ReturnType<typeof readField>>) {
	const { records, plan, boundary, varieties } = field;
	return trackField({ records, plan, boundary, varieties, account: accountMass(records) }, silent);
}

describe('against a simulated truth', () => {
	// Lag, area and place of the other kinds are told by sim/kinds.test.ts as well.
	it.each(some(CASES, 3))('%s, seed %i: lag within 1 s, area within 1 %, place within 2.5 m', async (kind, seed) => {
		const sim = simulate({ seed, kind });
		const field = await readField(sim.folder);
		const { records } = field;
		const track = trackSim(field);
		for (const [c, lag] of track.lags.entries()) {
			const off_s = Math.abs(lag.lag_s - sim.truth.combines[c]!.effectiveLag_s);
			expect(off_s).toBeLessThan(1);
			expect(off_s).toBeLessThan(2.5 * lag.u_s);
			// An antenna somewhere off the cutter, untold, sets seams and edges apart.
			expect(lag.u_s).toBeLessThan(kind === 'antenna' ? 1.2 : 0.7);
		}
		const area = track.area_m2.reduce((s, a) => s + a, 0);
		expect(Math.abs(area / sim.truth.area_m2 - 1)).toBeLessThan(0.01);
		const next = sim.truth.combines.map(() => 0);
		let places = 0;
		let squares = 0;
		let kept = 0;
		for (let i = 0; i < records.n; i++) {
			const c = records.combine[i]!;
			const truth = sim.truth.combines.find((t) => t.name === records.combines[c])!.records;
			const k = next[c]!++;
			if (track.flag[i] !== 0) continue;
			kept += track.area_m2[i]!;
			if (Number.isNaN(truth.cutX_m[k]!)) continue;
			squares += (track.cutX_m[i]! - truth.cutX_m[k]!) ** 2 + (track.cutY_m[i]! - truth.cutY_m[k]!) ** 2;
			places++;
		}
		expect(Math.sqrt(squares / places)).toBeLessThan(2.5);
		expect(kept / sim.truth.area_m2).toBeGreaterThan(kind === 'dirty' ? 0.78 : 0.86);
	});

	it.each(MISLED)(
		'%s, seed %i: no lone witness pulls the lag off beyond what it is said to be known to',
		async (kind, seed) => {
			const sim = simulate({ seed, kind });
			const track = trackSim(await readField(sim.folder));
			for (const [c, lag] of track.lags.entries()) {
				const off_s = Math.abs(lag.lag_s - sim.truth.combines[c]!.effectiveLag_s);
				expect(off_s).toBeLessThan(0.8);
				expect(off_s).toBeLessThan(2 * lag.u_s);
				// An antenna somewhere off the cutter, untold, sets seams and edges apart.
				expect(lag.u_s).toBeLessThan(kind === 'antenna' ? 1.2 : 0.7);
			}
		},
	);
});

describe('the open Mankato log', () => {
	it.skipIf(!openLogThere)(
		'wants a lag between −6 and 0 s, keeps most of its records and all of its ground (skipped without ../shared/data)',
		() => {
			const rows = readFileSync(OPEN_LOG, 'utf8')
				.trim()
				.split('\n')
				.slice(1)
				.map((line) => line.split(',').map(Number));
			const records: Records = emptyRecords(rows.length);
			records.combines = ['A'];
			// long, lat, mass (lb/s), time (s), seconds, dist (in), swath (in), moist (%), elev (ft)
			for (const [i, row] of rows.entries()) {
				records.lon_deg[i] = row[0]!;
				records.lat_deg[i] = row[1]!;
				records.flow_kg_s[i] = row[2]! * 0.45359237;
				records.time_s[i] = 1_320_514_683 + row[3]!;
				records.interval_s[i] = row[4]!;
				records.distance_m[i] = row[5]! * 0.0254;
				records.swath_m[i] = row[6]! * 0.0254;
				records.moisture_pct[i] = row[7]!;
				records.line[i] = i + 2;
			}
			const track = trackField(
				{ records, plan: plainPlan(), boundary: null, varieties: null, account: plainAccount(records) },
				silent,
			);
			expect(track.lags[0]!.lag_s).toBeGreaterThan(-6);
			expect(track.lags[0]!.lag_s).toBeLessThan(0);
			const traveled = records.distance_m.reduce((s, d, i) => s + d * records.swath_m[i]!, 0);
			expect(Math.abs(track.areas.distanceTimesSwath_m2 / traveled - 1)).toBeLessThan(0.03);
			expect(track.areas.cut_m2).toBeLessThan(track.areas.distanceTimesSwath_m2);
			expect(track.areas.cut_m2 / traveled).toBeGreaterThan(0.95);
			const kept = track.flag.reduce((n, f) => n + (FLAGS[f] === '' ? 1 : 0), 0);
			expect(kept / records.n).toBeGreaterThan(0.78);
		},
	);
});
