// What each piece of evidence of the match is worth: npx tsx test/sim/ablate.ts [kind,kind] [seeds: 1-3] [piece,piece] [-c]
// The clock is known but for a few seconds; -c searches for it too, which takes ten times as long.
import { accountMass } from '../../lib/account/index.ts';
import { bestAtOffset } from '../../lib/match/best-at-offset.ts';
import { type MatchInput, matchField } from '../../lib/match/index.ts';
import { matchOf } from '../../lib/match/outcome/outcome.ts';
import { COSTS } from '../../lib/match/problem/costs.ts';
import { prepare } from '../../lib/match/problem/prepare.ts';
import { type Match, silent } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { scaleReference } from '../../lib/reference/index.ts';
import { folderOf, type Kind, type Sim, simulate } from './index.ts';
import { Files } from './situations.ts';

const [kindWord = KINDS(), seedWord = '401-403', pieceWord = ''] = process.argv.slice(2).filter((w) => w !== '-c');
const search = process.argv.includes('-c');
const [from, to] = seedWord.split('-').map(Number);

function KINDS(): string {
	return 'labeled,clock-137,clock-7h,irregular,rests,start-leave,mixed,minutes,untimed,wrong-weight,two-days,positions,load-numbers,rough';
}

/** Costs that remove a piece of evidence or a rule: 0, or that of something that never happens. */
const NEVER = 40;
const PIECES: Record<string, Partial<Record<keyof typeof COSTS, number>>> = {
	none: {},
	'auger signal missing': { augerMissed: 0.7 },
	'saved twice': { repeated: NEVER },
	'weight wrong by what the cart lacks': { wrong: NEVER },
	'arrives with grain': { startsWithGrain: NEVER },
	'ends with grain': { endsWithGrain: 0 },
	mislabeled: { mislabeled: NEVER },
	'mixed, not noted': { mixed: NEVER },
	'noted emptied': { notedWrong: 0.7 },
	'clock near zero': { clockHour: 0.5, clockOdd: 0.5 },
	'clock reset': { clockJump: NEVER },
};

/** Single errors in one dump that no kind of field has: "labeled+name". */
const SLIPS: Record<string, (dumps: Record<string, string>[], expected: Map<string, string>) => unknown> = {
	/** The wrong name beside it. */
	name: (dumps) => {
		const d = dumps[Math.floor(dumps.length / 2)]!;
		d.combine = d.combine === 'A' ? 'B' : 'A';
	},
	/** Its weight and the next combine's in one row, nothing noted. */
	two: (dumps, expected) => {
		const i = dumps.findIndex((d, k) => k > dumps.length / 2 && d.combine !== dumps[k - 1]!.combine);
		if (i < 1) return;
		const [first, d] = [dumps[i - 1]!, dumps[i]!];
		d.weight_kg = String(Number(d.weight_kg) + Number(first.weight_kg));
		d.combine = '';
		d.emptied = '';
		first.event = '';
		expected.set(d.id!, 'A+B');
	},
	/** The first combine came with 2.5 t in its tank. */
	came: (dumps) => {
		const d = dumps[0]!;
		d.weight_kg = String(Number(d.weight_kg) + 2500);
	},
};

interface Case {
	kind: string;
	sim: Sim;
	input: MatchInput;
	/** Combines of dumps whose row is not what the simulator wrote. */
	expected: Map<string, string>;
}

async function prepared(word: string, seed: number): Promise<Case> {
	const [kind, slip] = word.split('+') as [Kind, string | undefined];
	const sim = simulate({ seed, kind });
	const files = new Files(sim.files);
	const expected = new Map<string, string>();
	if (slip) {
		files.cart((rows) => {
			SLIPS[slip]!(
				rows.filter((r) => r.event === 'dump'),
				expected,
			);
			return rows.filter((r) => r.event !== '');
		});
	}
	const { records, book, plan } = await readField(folderOf(files.texts), { strict: false, progress: silent });
	const account = accountMass(records);
	const reference = scaleReference({ book, plan });
	return {
		kind: word,
		sim,
		expected,
		input: { records, account, book, plan, reference, seams: [] } as unknown as MatchInput,
	};
}

/** The match itself, or its assignments at a clock that is nearly right. */
function matched({ input, sim }: Case): Match {
	if (search) return matchField(input);
	const { problem, excluded } = prepare(input);
	const at_s = Number.isFinite(sim.truth.clock_offset_s) ? sim.truth.clock_offset_s + 10 : 0;
	const clock = { offset_s: at_s, u_s: 20, source: 'estimated' as const, byDay: [] };
	const offset = { at_s, first_s: at_s, clock, tried: [] };
	const solved = bestAtOffset(problem, input.records, at_s, 20);
	return matchOf(
		{
			input,
			supposed: null,
			problem,
			excluded,
			offset,
			solved,
			cost: 0,
			notes: [],
			cautions: [],
		},
		input,
	);
}

function judged({ sim, input, expected }: Case, match: Match) {
	let wrong = 0;
	let factor = 0;
	match.fates.forEach((fate, i) => {
		const truth = sim.truth.dumps.find((d) => d.id === input.book.dumps[i]!.id);
		if (!truth) return;
		const twin = sim.truth.dumps.some((d) => d !== truth && d.unloadings.join() === truth.unloadings.join());
		const aside = fate.status === 'aside';
		const may = truth.accept.includes('aside') || twin;
		const combine =
			fate.combines.map((c) => input.records.combines[c]).join('+') ===
			(expected.get(truth.id) ?? truth.combines.join('+'));
		if (aside ? !may : !combine || truth.accept.every((s) => s === 'aside')) wrong++;
	});
	const left = match.unloadings.filter((u) => u.unweighed !== null).map((u) => ({ ...u }));
	let missed = 0;
	for (const u of sim.truth.unloadings) {
		if (u.fate === 'saved') continue;
		const at = left.findIndex((l) => l.combine === u.combine && Math.abs(l.end_s - u.end_s) <= 120);
		if (at >= 0) left.splice(at, 1);
		else missed++;
	}
	const last = (c: number) => sim.truth.unloadings.filter((u) => u.combine === c).at(-1)?.end_s ?? 0;
	const invented = left.filter((l) => l.end_s <= last(l.combine) + 30).length;
	match.factors.forEach((k, c) => {
		factor = Math.max(factor, Math.abs(100 * (k / sim.truth.combines[c]!.factor - 1)) || 0);
	});
	const off = match.clock.offset_s - sim.truth.clock_offset_s;
	const clock = Number.isFinite(off) && Math.abs(off) > Math.max(60, 2 * match.clock.u_s) ? 1 : 0;
	return { wrong, missed, invented, clock, factor };
}

const cases: Case[] = [];
for (const kind of kindWord.split(',')) {
	for (let seed = from!; seed <= (to ?? from!); seed++) cases.push(await prepared(kind, seed));
}
const usual = { ...COSTS };
const chosen = Object.entries(PIECES).filter(
	([name]) => pieceWord === '' || pieceWord.split(',').some((w) => name.includes(w)),
);
console.log(`${cases.length} fields, ${cases.reduce((n, c) => n + c.input.book.dumps.length, 0)} dumps`);
console.log(
	'without'.padEnd(38),
	'dumps wrong, unweighed missed + invented, clocks wrong, rough factor off % (mean of worst), kinds that change',
);
const plain = new Map<Case, string>();
for (const [name, change] of chosen) {
	Object.assign(COSTS, usual, change);
	const sum = { wrong: 0, missed: 0, invented: 0, clock: 0, factor: 0 };
	const changed = new Map<string, string>();
	const began = performance.now();
	for (const c of cases) {
		const score = judged(c, matched(c));
		for (const key of Object.keys(sum) as (keyof typeof sum)[]) sum[key] += score[key];
		const now = `${score.wrong}/${score.missed}+${score.invented}/${score.clock}`;
		if (name === 'none') plain.set(c, now);
		else if (plain.has(c) && plain.get(c) !== now) changed.set(c.kind, `${plain.get(c)} → ${now}`);
	}
	const kinds = [...changed].map(([kind, how]) => `${kind} ${how}`).join('; ');
	const mean = (sum.factor / cases.length).toFixed(2);
	const s = ((performance.now() - began) / 1000).toFixed(0);
	console.log(
		name.padEnd(38),
		`${sum.wrong}, ${sum.missed}+${sum.invented}, ${sum.clock}, ${mean}`.padEnd(22),
		kinds,
		`(${s} s)`,
	);
}
