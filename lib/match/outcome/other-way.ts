import { type LoadBook, type Match, type Records, TANK } from '../../model/index.ts';
import { countOf, formatSigned, someOf } from '../../units/index.ts';

/** Ends of tank loads within this are the same, seconds. */
const SAME_S = 60;
/** Differences of a factor below this are not worth a word, relative. */
const NOTABLE = 0.002;
/** Most dumps of one kind that are named. */
const NAMED = 4;

/** A match beside the one that is used, in words: "D3 from combine B; D9 not used: factor of A +3.1%". */
export function otherWay(used: Match, other: Match, book: LoadBook, { combines }: Records): string {
	const dumps = new Map<string, string[]>();
	used.fates.forEach((fate, d) => {
		const how = differs(fate.dump, used, other, combines);
		if (how) dumps.set(how, [...(dumps.get(how) ?? []), book.dumps[d]!.id]);
	});
	const said = [...dumps].map(([how, ids]) => `${someOf(ids, NAMED)} ${how}`);
	const rests = (m: Match) => m.fates.map((f) => f.unloadings.some((u) => m.unloadings[u]!.u_rest_kg > TANK.broad_kg));
	const [own, others] = [rests(used), rests(other)];
	const ids = (of: (d: number) => boolean) => book.dumps.flatMap(({ id }, d) => (of(d) ? [id] : []));
	const left = ids((d) => others[d]! && !own[d]);
	if (left.length > 0) said.push(`grain left in the tank at ${someOf(left, NAMED)}`);
	const emptied = ids((d) => own[d]! && !others[d]);
	if (emptied.length > 0) said.push(`the tank emptied at ${someOf(emptied, NAMED)}`);
	combines.forEach((name, c) => {
		const some = (m: Match) => m.start_kg[c]!.kg > 0;
		if (some(other) !== some(used))
			said.push(`${some(other) ? 'grain' : 'no grain'} in the tank of ${name} at the start`);
	});
	const more = unweighed(other) - unweighed(used);
	if (more !== 0) said.push(`${countOf(Math.abs(more), 'tank load')} ${more > 0 ? 'more' : 'fewer'} without a weight`);
	const factors = combines.flatMap((name, c) => {
		const change = other.factors[c]! / used.factors[c]! - 1;
		return Math.abs(change) > NOTABLE ? [`factor of ${name} ${formatSigned(100 * change, 1)}%`] : [];
	});
	const what = said.length > 0 ? said.join('; ') : 'other times of unloading';
	return factors.length > 0 ? `${what}: ${factors.join(', ')}` : what;
}

/** How another match takes a dump, where it takes it otherwise. */
function differs(dump: number, used: Match, other: Match, combines: readonly string[]): string | null {
	const [a, b] = [used.fates[dump]!, other.fates[dump]!];
	if (a.status === 'aside' && b.status === 'aside') return null;
	if (b.status === 'aside') return 'not used';
	if (a.combines.join() !== b.combines.join() || a.status === 'aside')
		return `from ${b.combines.length > 1 ? 'combines' : 'combine'} ${b.combines.map((c) => combines[c]).join(' and ')}`;
	if (Math.abs(a.end_s - b.end_s) > SAME_S) return `from ${a.end_s < b.end_s ? 'a later' : 'an earlier'} tank load`;
	return null;
}

const unweighed = ({ unloadings }: Match): number => unloadings.filter((u) => u.unweighed !== null).length;
