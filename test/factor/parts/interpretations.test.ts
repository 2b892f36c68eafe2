import { describe, expect, it } from 'vitest';
import { scatterOf } from '../../../lib/factor/chain/scatter.ts';
import { twoScales } from '../../../lib/factor/chain/two-scales.ts';
import { flowsOf } from '../../../lib/factor/flows.ts';
import { CONSTANT } from '../../../lib/factor/form/shape.ts';
import { interpretationsOf, outliersOf, withOutliers } from '../../../lib/factor/interpretations.ts';
import { constants, playOf, premisesOf } from '../../../lib/factor/premises.ts';
import { USUAL_SCATTER } from '../../../lib/tank/index.ts';
import { bookOf, dump } from '../../match/hand.ts';
import { plainRow } from '../../plain.ts';
import { type Made, type Make, make } from '../make.ts';

const START_S = 1_760_000_000;
const past = (loads: number) => START_S + 480 * loads;

interface Field extends Partial<Make> {
	/** Each weight more than its grain, relative. */
	off?: (weight: number) => number;
	/** What the match has it leave in tanks, by unloading. */
	broad?: number[];
	noted?: number[];
	change?: (made: Made) => void;
}
function field({ off = () => 0, broad = [], noted = [], change, ...rest }: Field = {}): Made {
	const made = make({ seed: 12, combines: ['A'], fills: 12, slow: 0.003, reading_kg: 5, ...rest });
	const { match, book } = made;
	match.unloadings.forEach((u, i) => {
		const unknown = broad.includes(i);
		Object.assign(u, { rest_kg: unknown ? 2400 : 0, u_rest_kg: unknown ? 2400 : 30 });
	});
	match.weighings.forEach((w, i) => {
		w.reference_kg *= 1 + off(i);
	});
	Object.assign(
		book,
		bookOf(
			match.unloadings.map((u, i) =>
				dump(`D${i}`, i, 0, 6000, { time_s: u.end_s, emptied: noted.includes(i) ? 0 : -1 }),
			),
		),
	);
	change?.(made);
	return made;
}
const premises = (made: Made) => premisesOf({ ...made, seams: [], jumps: [] }, new Map());
function interpreted(of: Field) {
	const all = premises(field(of));
	const matched = outliersOf(all, all.rest);
	const plain = withOutliers(playOf(all, constants(all), all.rest, USUAL_SCATTER), matched);
	return { all, found: interpretationsOf(all, matched, scatterOf(all.chain, plain)) };
}

describe('weights and outliers as the match has them', () => {
	it('with constant factors, the outliers among them', () => {
		const all = premises(field({ off: (w) => (w === 4 ? 0.3 : 0) }));
		const outliers = outliersOf(all, all.rest);
		expect(all.chain.order).toEqual([...Array(12).keys()]);
		expect(outliers.aside.map((a) => a.weighing)).toEqual([4]);
		const play = withOutliers({ sigma: 7 } as never, outliers);
		expect(play).toEqual({ sigma: 7, rest: outliers.rest, extraVariance: outliers.extraVariance });
	});

	it('allow for a scale that the match found to have changed: right weights after it are no outliers', () => {
		const changed = (scaleChanged: boolean) => {
			const made = field({ combines: ['A', 'B'], off: (w) => (w % 12 > 9 ? -0.16 : 0) });
			const all = premises({ ...made, match: { ...made.match, scaleChanged } as never });
			return outliersOf(all, all.rest).aside.length;
		};
		expect(changed(true)).toBe(0);
		expect(changed(false)).toBeGreaterThan(0);
	});
});

describe('interpretations of the weights', () => {
	it('are the match’s alone where it leaves no grain in tanks', () => {
		const { found } = interpreted({});
		expect(found).toHaveLength(1);
		expect(found[0]).toMatchObject({ reconsidered: [], shapes: [CONSTANT] });
	});

	it('and one with emptied tanks, where it does', () => {
		const broad = interpreted({ broad: [5] });
		expect(broad.found.map((i) => i.reconsidered)).toEqual([[], [0]]);
		expect(broad.found.map((i) => i.outliers.rest.u_kg[5])).toEqual([2400, 40]);
		// Unknown grain in a tank is likelier where it is a share of them all than where there is none: both have their odds.
		expect(broad.found[0]!.cost).not.toBe(broad.found[1]!.cost);
		// What the load book has as left is none to do away with.
		expect(interpreted({ broad: [5], noted: [5] }).found).toHaveLength(1);
	});

	it('of two combines are of both together', () => {
		const { found } = interpreted({ combines: ['A', 'B'], broad: [3, 16] });
		expect(found.map((i) => i.reconsidered)).toEqual([[], [0, 1]]);
	});

	it('are the match’s alone where a form was set by hand', () => {
		const pinned = (made: Made) => {
			made.plan.pins = { factors: { A: { form: 'constant' } } };
		};
		expect(interpreted({ broad: [3], change: pinned }).found).toHaveLength(1);
	});

	it('have the form that weights show', () => {
		const { found } = interpreted({ off: (w) => (w < 6 ? 0.06 : 0) });
		expect(found[0]!.shapes[0]).toMatchObject({ form: 'step', changes_s: [past(6)] });
		expect(found[0]!.choices[0]!.shape).toBe(found[0]!.shapes[0]);
	});
});

describe('a form set by hand', () => {
	const shape = (form: string, more: Field = {}) =>
		interpreted({
			...more,
			change: (made) => {
				made.plan.pins = { factors: { A: { form: form as 'step' } } };
				more.change?.(made);
			},
		}).found[0]!.shapes[0]!;
	const step = (w: number) => (w < 6 ? 0.06 : 0);

	it('a step falls where weights show one, on an event, or in the middle', () => {
		expect(shape('step', { off: step })).toMatchObject({ form: 'step', changes_s: [past(6)] });
		const event = (made: Made) => {
			made.plan.events = [{ time_s: past(4), combine: 'A', kind: 'calibrated', note: null }];
		};
		expect(shape('step', { change: event })).toMatchObject({ form: 'step', changes_s: [past(4)] });
		// The first piece of the seventh of twelve tank loads.
		expect(shape('step')).toMatchObject({ form: 'step', changes_s: [past(6)] });
	});

	it('a trend over what was weighed, a curve over the flows, or none', () => {
		expect(shape('trend')).toMatchObject({ form: 'trend', middle_s: past(6), half_s: 2880 });
		expect(shape('trend', { change: ({ match }) => match.weighings.splice(0) }).form).toBe('constant');
		const curve = shape('flow');
		expect(curve.form).toBe('flow');
		expect(curve.flow_kg_s).toBeGreaterThan(12);
		expect(shape('constant', { off: step })).toBe(CONSTANT);
	});
});

describe('a curve over flow', () => {
	/** A's loads are taken in at three paces, at which its monitor reads 4 % less per kg/s more. */
	const curved = ({ account, records, match }: Made) => {
		match.unloadings.forEach((u, f) => {
			if (u.combine !== 0) return;
			let true_kg = 0;
			for (let i = u.from; i < u.to; i++) {
				const pace = [0.6, 1.5, 1][f % 3]!;
				records.flow_kg_s[i]! *= pace;
				account.account_kg[i]! *= pace;
				true_kg += account.account_kg[i]! * (1 + 0.04 * (records.flow_kg_s[i]! - 12));
			}
			u.account_kg *= [0.6, 1.5, 1][f % 3]!;
			match.weighings[f]!.reference_kg = true_kg;
		});
	};
	/** What neighboring passes show of A's monitor: a slope of 4 % of its factor per kg/s, known to so much. */
	const seen = (made: Made, u: number) => {
		const flows = flowsOf({ ...made, seams: [] });
		const slopes = flows.slopes.map((s) =>
			s.combine === 0 ? { ...s, slope: 0.04, u, df: 10, spread_kg_s: 4, why: null } : s,
		);
		return { ...flows, slopes };
	};
	const forms = (more: Field, u = 0.012) => {
		const made = field({ ...more });
		const all = premisesOf({ ...made, seams: [], jumps: [], flows: seen(made, u) }, new Map());
		return interpretationsOf(all, outliersOf(all, all.rest), USUAL_SCATTER)[0]!.shapes.map((s) => s.form);
	};

	it('is the form that passes and weights show together, of its own combine alone', () => {
		// 3.3 standard errors at the seams are too few on their own.
		expect(forms({ fills: 20 })).toEqual(['constant']);
		expect(forms({ fills: 20, change: curved })).toEqual(['flow']);
		expect(forms({ fills: 20, combines: ['A', 'B'], change: curved })).toEqual(['flow', 'constant']);
		expect(forms({ fills: 20, change: curved }, 1)).toEqual(['constant']);
	});

	it('is none where the form was set by hand, or where a combine has no weight of its own', () => {
		const pinned = (made: Made) => {
			curved(made);
			made.plan.pins = { factors: { A: { form: 'constant' } } };
		};
		expect(forms({ fills: 20, change: pinned })).toEqual(['constant']);
		const none = (made: Made) => {
			curved(made);
			for (const w of made.match.weighings) Object.assign(w, { kind: 'total', unloadings: [] });
		};
		expect(forms({ fills: 20, combines: ['A', 'B'], change: none })).toEqual(['constant', 'constant']);
	});

	it('gives way to a step that weights show', () => {
		expect(forms({ fills: 20, off: (w) => (w < 10 ? 0.12 : 0) })).toEqual(['step']);
	});

	it('a step by hand of one combine is in the middle of its own loads', () => {
		const pinned = ({ plan }: Made) => {
			plan.pins = { factors: { B: { form: 'step' } } };
		};
		const [, b] = interpreted({ combines: ['A', 'B'], fills: 9, change: pinned }).found[0]!.shapes;
		expect(b).toMatchObject({ form: 'step', changes_s: [past(4)] });
	});
});

describe('two carts that worked by turns, which no row says', () => {
	const turns = (w: number) => (w % 3 === 0 ? 0 : -0.07);
	const two = (more: Field = {}) => twoScales(premises(field({ combines: ['A', 'B'], seed: 12, off: turns, ...more })));

	it('are two scales whose weights differ alike on both combines', () => {
		const found = two()!;
		expect(found.others).toEqual([{ name: null, mean: 0, u: 0.06 }]);
		const second = found.of[0] === 1 ? 0 : 1;
		expect([...found.of].map((s, w) => s === (w % 3 === 0 ? 1 - second : second))).toEqual(Array(24).fill(true));
	});

	it('are not seen in one scale, a change of it, one combine, or few weights', () => {
		expect(two({ off: () => 0 })).toBeNull();
		expect(two({ off: (w) => (w % 12 < 6 ? 0 : -0.07) })).toBeNull();
		expect(two({ combines: ['A'] })).toBeNull();
		expect(two({ fills: 2 })).toBeNull();
		// One monitor follows its flow, the other does not.
		expect(two({ off: (w) => (w < 12 ? turns(w) : 0) })).toBeNull();
	});

	it('are not looked for where rows name the scales', () => {
		const named = (made: Made) => {
			made.book.dumps.forEach((d, i) => {
				d.scale = i % 3 === 0 ? 'red' : 'blue';
			});
		};
		expect(two({ change: named })).toBeNull();
	});

	it('need three weights by each, and two of each of two combines', () => {
		// Weights 0 to 11 are A's, 12 to 23 B's; weights of one number are of one time.
		const by = (...second: number[]) => two({ off: (w) => (second.includes(w) ? -0.07 : 0) });
		const some = by(0, 6, 15, 21)!;
		expect([...some.of].flatMap((s, w) => (s === 1 ? [w] : []))).toEqual([0, 6, 15, 21]);
		expect(by(0, 6, 15)).toBeNull();
		expect(by(0, 15)).toBeNull();
		expect(by(0, 3, 6, 9)).toBeNull();
		// One run of weights is a scale that changed and changed back.
		expect(by(4, 5, 6, 16, 17, 18)).toBeNull();
	});

	it('differ by more than chance, and either may be the heavier one', () => {
		expect(two({ off: (w) => (w % 3 === 0 ? 0 : -0.004) })).toBeNull();
		const heavier = two({ off: (w) => (w % 3 === 0 ? 0 : 0.07) })!;
		const second = heavier.of[0]!;
		expect([...heavier.of]).toEqual(Array.from({ length: 24 }, (_, w) => (w % 3 === 0 ? second : 1 - second)));
	});

	it('leave tickets aside', () => {
		const ticket = two({
			change: ({ match }) => {
				Object.assign(match.weighings[5]!, { byCart: false, kind: 'ticket', dumps: [], ticket: 0 });
			},
		})!;
		expect(ticket.of[5]).toBe(-1);
	});

	it('by cart loads where offloads were weighed: a load is of one cart', () => {
		const found = two({ off: (w) => (w % 2 ? -0.07 : 0), change: offloads });
		expect(found).not.toBeNull();
		const loads = [...found!.of];
		for (let k = 0; k < 12; k++) expect([k, loads[k], loads[k]]).toEqual([k, loads[12 + k], loads[(k + 2) % 12]]);
		expect(loads[0]).not.toBe(loads[1]);
		// A cart load is of one scale even where one of its two weights looks like the other's.
		const odd = two({ off: (w) => (w % 2 ? -0.07 : w === 4 ? -0.06 : 0), change: offloads });
		expect(odd!.of[4]).toBe(odd!.of[16]);
	});

	it('check truckloads by the share of each in them', () => {
		const trucks = (name: (k: number) => string | null) => (made: Made) => {
			offloads(made);
			made.book.offloads.forEach((o, k) => {
				o.truckLoad = name(k);
			});
			made.book.dumps.forEach((d) => {
				d.weight_kg = 6000;
			});
			const names = [...new Set(made.book.offloads.map((o) => o.truckLoad).filter((t) => t !== null))];
			made.reference.loads = names.map((truckLoad, i) => ({
				truckLoad,
				cart_kg: 12_000,
				ticket_kg: 12_000,
				used: i > 0,
				reason: null,
				time_s: past(12),
				scale: null,
				rel: 0,
				side_kg: 12_000,
			}));
		};
		const shares = (name: (k: number) => string | null) =>
			two({ off: (w) => (w % 2 ? -0.07 : 0), change: trucks(name) })!.loads.map((l) => [
				l.truckLoad,
				l.used,
				...l.shares,
			]);
		// T1 is of two cart loads, one of each cart; T2 of one.
		const second = two({ off: (w) => (w % 2 ? -0.07 : 0), change: offloads })!.of[2]!;
		expect(shares((k) => (k < 2 ? 'T1' : k === 2 ? 'T2' : null))).toEqual([
			['T1', true, 0.5, 0.5],
			['T2', true, 1 - second, second],
		]);
	});

	/** Two dumps to a cart load, one of each combine, and an offload to a truck of its own. */
	const offloads = (made: Made) => {
		const of = made.match.unloadings.map((u, i) => ({ i, at: u.end_s })).sort((a, b) => a.at - b.at || a.i - b.i);
		made.book.dumps.forEach((d, i) => {
			d.order = 2 * of.findIndex((o) => o.i === i);
		});
		made.book.offloads = Array.from({ length: 12 }, (_, k) => ({
			...plainRow(`O${k}`, 4 * k + 3, past(k + 1) + 60, 12_000),
			truckLoad: `T${k}`,
		}));
	};
});
