import { describe, expect, it } from 'vitest';
import { type AdviceInput, adviceFor } from '../../../lib/factor/report/advice.ts';
import type { Factor, Match } from '../../../lib/model/index.ts';
import { dump, NOON } from '../../match/hand.ts';
import { plainMatch, plainPlan } from '../../plain.ts';
import { factorOf, unloadingsOf, weighing } from './hand.ts';

/** Eight dumps of 6 t, each of a load of its own flow. */
function advice(factor: Factor, more: Partial<AdviceInput> = {}): string[] {
	const unloadings = unloadingsOf(Array<number>(9).fill(0));
	const weighings = unloadings.slice(0, 8).map((_, i) => weighing([i]));
	return adviceFor({
		factor,
		name: 'A',
		match: plainMatch({ unloadings, weighings }),
		plan: plainPlan({ timeZone: 'UTC' }),
		dumps: weighings.map((_, i) => dump(`D${i + 1}`, i, 0, 6000)),
		common: 0.012,
		noCurve: null,
		weighings: weighings.map((_, i) => i),
		moisture_pct: [17, 18],
		...more,
	});
}
const within = (low: number, high: number) => ({
	interval: [1 / (1 + high / 100), 1 / (1 + low / 100)] as [number, number],
});
const error = (pct: number, half: number, more: Partial<Factor> = {}) =>
	factorOf(0, 1 / (1 + pct / 100), { ...within(pct - half, pct + half), ...more });

describe('advice on a monitor', () => {
	it('nothing weighed, nothing to say', () => {
		expect(advice(factorOf(0, Number.NaN, { source: null }))).toEqual([
			'Combine A has no weights and no seam with a weighed combine. Its yields are as recorded.',
		]);
	});

	it('no error shown: leave it, if that is known well enough', () => {
		expect(advice(error(0.5, 2.9))[0]).toBe(
			'No need to recalibrate A on these weights: no error shown, within ±2.9% (95% interval −2.4 to +3.4%).',
		);
		expect(advice(error(0.5, 3.1))[0]).toBe(
			'Weigh more dumps of A: no error shown, but only to ±3.1% (95% interval −2.6 to +3.6%).',
		);
		// An end at zero is no error shown.
		expect(advice(error(1, 1))[0]).toContain('no error shown');
		expect(advice(error(-1, 1))[0]).toContain('no error shown');
	});

	it('an error as small as usual: leave it', () => {
		expect(advice(error(2, 0.9))[0]).toBe(
			'No need to recalibrate A: it reads 2.0% high (95% interval 1.1 to 2.9%), and 3% is normal for a well-calibrated ' +
				'monitor (Iowa State University). The map is already corrected.',
		);
		expect(advice(error(-2, 0.9))[0]).toContain('it reads 2.0% low (95% interval 1.1 to 2.9%), and');
	});

	it('a larger one: calibrate, with loads to enter', () => {
		const [first, loads] = advice(error(5, 1));
		expect(first).toContain(
			'Calibrate A by the manufacturer’s procedure: it reads 5.0% high (95% interval 4.0 to 6.0%).',
		);
		expect(first).toContain('records are multiplied by 0.952,');
		expect(loads).toMatch(/^To enter on A’s monitor \(dump: monitor weight, reference weight\): /);
		expect(advice(error(-2.5, 0.6))[0]).toContain('Calibrate A');
		// Without weights of its own there is none to enter.
		const seams = advice(error(5, 1, { source: 'seams' }));
		expect(seams[1]).toBe('Weigh a few dumps of A: it has no weight of its own, and its factor comes from the seams.');
		expect(seams.join()).not.toContain('To enter');
		expect(advice(error(1, 1)).join()).not.toContain('To enter');
		expect(advice(error(5, 1, { source: 'tickets' })).join()).not.toContain('To enter');
	});

	it('further off than any monitor is: check the units, and enter nothing', () => {
		for (const pct of [120.5, -54.6]) {
			const lines = advice(error(pct, 1));
			expect(lines[0]).toMatch(/^Do not calibrate A with these weights: .* Check the units/);
			expect(lines.join()).not.toMatch(/Calibrate A by|To enter/);
		}
		expect(advice(error(49, 1))[0]).toContain('Calibrate A by');
	});

	it('lists at most six loads, over the range of flow, in order of time', () => {
		const unloadings = unloadingsOf(Array<number>(9).fill(0)).map((u, i) => ({
			...u,
			account_kg: 6000 + 10 * ((i * 5) % 9),
		}));
		const weighings = unloadings.slice(0, 8).map((_, i) => weighing([i]));
		const listed = (more: Partial<AdviceInput>) =>
			[
				...(
					advice(factorOf(0, 0.9999, within(0.001, 0.002)), more).find((t) => t.startsWith('To enter')) ?? ''
				).matchAll(/D\d/g),
			].map(String);
		const match = plainMatch({ unloadings, weighings });
		// Flows by D1 … D8: none known of the first; 6050, 6010, 6060, 6020, 6070, 6030, 6080 over 500 s.
		const all = listed({ match });
		expect(all).toHaveLength(6);
		expect(all).toEqual([...all].sort());
		expect(listed({ match, weighings: [4, 2, 7] })).toEqual(['D3', 'D5', 'D8']);
		// Not those set aside, of two tanks, or far from the factor: grain stayed in the tank.
		const odd = plainMatch({
			unloadings,
			weighings: [
				weighing([0], { used: false }),
				weighing([1, 2]),
				weighing([2], { reference_kg: 6600 }),
				weighing([3], { reference_kg: 5500 }),
				weighing([4], { reference_kg: 6300 }),
			],
		});
		expect(listed({ match: odd, weighings: [0, 1, 2, 3, 4] })).toEqual(['D5']);
		expect(listed({ match: odd, weighings: [0, 1] })).toEqual([]);
	});

	it('a step: by how much, when, and its causes', () => {
		const stepped = error(5, 1, {
			form: 'step',
			changes: [
				{ time_s: NOON - 9000, value: 1 },
				{ time_s: NOON, value: 0.95 },
			],
		});
		expect(advice(stepped).join(' ')).toContain(
			'Its factor changed by −5.0% at Oct 1, 12:00 PM. Possible causes: it was recalibrated,',
		);
		expect(advice({ ...stepped, changes: stepped.changes.slice(1) }).join(' ')).not.toContain('Its factor changed');
	});

	it('a drift per hour', () => {
		const knots = [
			{ time_s: NOON, value: 1 },
			{ time_s: NOON + 2 * 3600, value: Math.exp(0.06) },
		];
		const drifted = advice(error(5, 1, { form: 'trend', knots })).join(' ');
		expect(drifted).toContain('the factor drifted by +3.0% per hour.');
		expect(advice(error(5, 1, { form: 'trend', knots: knots.slice(1) })).join(' ')).not.toContain('drifted');
	});

	it('a curve from the lowest to the highest flow', () => {
		const curve = [
			{ flow_kg_s: 4, value: 1 },
			{ flow_kg_s: 6, value: 1.01 },
			{ flow_kg_s: 12, value: Math.exp(0.04) },
		];
		const curved = advice(error(5, 1, { form: 'flow', curve })).join(' ');
		expect(curved).toContain('the factor changes by +4.0% from the lowest to the highest flow.');
		expect(curved).toContain('Calibrate with dumps of 3,000 lb (1,350 kg) to 6,000 lb (2,700 kg)');
		expect(advice(error(5, 1, { form: 'flow', curve: curve.slice(1, 2) })).join(' ')).not.toContain('lowest');
	});

	it('loads that a sensor recorded in part are not for calibration', () => {
		const unloadings = unloadingsOf(Array<number>(9).fill(0));
		const weighings = unloadings.slice(0, 8).map((_, i) => weighing([i]));
		const saturates = (combine: number) => {
			const saturation = { combine, from_kg_s: 9, lacking: 2, flows_kg_s: [4, 12] as [number, number] };
			const under = { saturation } as NonNullable<Match['under']>;
			return advice(error(5, 1), { match: plainMatch({ unloadings, weighings, under }) }).join();
		};
		expect(saturates(0)).not.toContain('To enter on');
		expect(saturates(1)).toContain('To enter on');
	});

	it('why no curve could be seen, where something was weighed', () => {
		const why = { noCurve: 'all passes were cut at one speed' };
		expect(advice(error(5, 1), why).join(' ')).toContain(
			'Not enough data to see whether A reads differently at low flow: all passes were cut at one speed.',
		);
		expect(advice(error(5, 1, { n: 0 }), why).join(' ')).not.toContain('Not enough data');
		expect(advice(error(5, 1)).join(' ')).not.toContain('Not enough data');
	});

	it('how many more dumps', () => {
		const more = (moreDumps: number) => advice(error(5, 1, { moreDumps })).join(' ');
		expect(more(0)).toContain('The factor is within ±1% (95%); more dumps are not needed for that.');
		expect(more(1)).toContain('About 1 more dump would bring it within ±1%');
		expect(more(7)).toContain('About 7 more dumps would bring it within ±1%, if they scatter like these.');
		expect(more(Infinity)).toContain('since the cart scale itself is known only to ±1.2%.');
	});

	it('checks again, sooner where moisture moved', () => {
		const last = (moisture_pct: [number, number]) => advice(error(5, 1), { moisture_pct }).slice(-2).join(' ');
		expect(last([15, 19])).toContain(
			'Moisture ran from 15 to 19%. Check the calibration again when it has changed by about 4 points',
		);
		expect(last([15, 18.9])).not.toContain('Moisture ran');
		expect(last([15, 18])).toContain(
			'Check again after 5 more dumps of A, and after a change of variety, header or moisture.',
		);
	});
});
