import { accountMass } from '../../lib/account/account.ts';
import { matchField } from '../../lib/match/index.ts';
import type { Field, LoadBook, Match, Records, Reference } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { scaleReference } from '../../lib/reference/index.ts';
import { folderOf, type Sim, type SimOptions, simulate } from '../sim/index.ts';

/** A simulated field read and aligned; no tracks, so that many can be looked at. */
export interface Aligned {
	sim: Sim;
	field: Field;
	reference: Reference;
	match: Match;
}

export async function aligned(options: SimOptions, change?: (files: Map<string, string>) => void): Promise<Aligned> {
	const sim = simulate(options);
	if (change) change(sim.files);
	const field = await readField(change ? folderOf(sim.files) : sim.folder);
	return { sim, field, ...align(field) };
}

export function align(field: Field, book: LoadBook = field.book, records: Records = field.records) {
	const { plan } = field;
	const reference = scaleReference({ book, plan });
	const input = { records, account: accountMass(records), book, plan, reference, seams: [], track: null as never };
	return { reference, match: matchField(input) };
}

/** How an alignment stands against the truth. */
export interface Verdict {
	dumps: number;
	right: number;
	wrong: string[];
	/** Unloadings without a row: there are, were found at the right end, and were made up. */
	unweighed: number;
	found: number;
	invented: number;
	/** Relative errors of the rough factors, per cent. */
	factors_pct: number[];
	clock_s: number;
	covered: boolean;
}

export function verdict({ sim, field, match, reference }: Aligned): Verdict {
	const { truth } = sim;
	// What the cart's scale is taken to be off by is another room's answer, and is in every factor.
	const scale = reference.ratio / truth.ratio;
	const { combines } = field.records;
	const fates = new Map(match.fates.map((f) => [field.book.dumps[f.dump]!.id, f]));
	const out: Verdict = {
		dumps: truth.dumps.length,
		right: 0,
		wrong: [],
		unweighed: 0,
		found: 0,
		invented: 0,
		factors_pct: truth.combines.map((c) => 100 * (match.factors[combines.indexOf(c.name)]! / (scale * c.factor) - 1)),
		clock_s: match.clock.offset_s - truth.clock_offset_s,
		covered: Math.abs(match.clock.offset_s - truth.clock_offset_s) <= 2 * match.clock.u_s,
	};
	for (const d of truth.dumps) {
		const fate = fates.get(d.id)!;
		// Of a weight saved twice it does not matter which row is set aside.
		const twin = truth.dumps.find((o) => o !== d && o.unloadings.join() === d.unloadings.join());
		const other = twin ? fates.get(twin.id)! : null;
		const aside = other && (other.status === 'aside') !== (fate.status === 'aside') ? fate.status === 'aside' : null;
		const mayBeAside = aside ?? d.accept.includes('aside');
		const mayBeUsed = aside === null ? d.accept.some((s) => s !== 'aside') : !aside;
		const name = fate.combines.map((c) => combines[c]).join('+');
		const right =
			fate.status === 'aside' ? mayBeAside : mayBeUsed && name.split('+').sort().join('+') === d.combines.join('+');
		if (right) out.right++;
		else out.wrong.push(`${d.id}: ${d.combines.join('+')} ${d.accept.join('/')}, found ${name} ${fate.status}`);
	}
	const left = match.unloadings.filter((u) => u.unweighed !== null);
	for (const u of truth.unloadings) {
		if (u.fate === 'saved') continue;
		out.unweighed++;
		const name = truth.combines[u.combine]!.name;
		const i = left.findIndex((l) => combines[l.combine] === name && Math.abs(l.end_s - u.end_s) <= 120);
		if (i < 0) continue;
		out.found++;
		left.splice(i, 1);
	}
	for (const l of left) {
		// What went home in a tank is no invention.
		const c = truth.combines.findIndex((t) => t.name === combines[l.combine]);
		const last = truth.unloadings.filter((u) => u.combine === c).at(-1);
		if (!last || l.end_s <= last.end_s + 30) out.invented++;
	}
	return out;
}
