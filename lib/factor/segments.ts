import { type Account, inTimeOrder, type Match, type Records } from '../model/index.ts';

/** Grain of one combine between two moments at which its tank was unloaded, weighed or not. */
export interface Segment {
	combine: number;
	/** Index into Match.unloadings; −1 for grain that belongs to none (after the last unloading, say). */
	unloading: number;
	/** Half-open range of the combine's records in order of time. */
	from: number;
	to: number;
	account_kg: number;
	/** Mass-weighted mean time, and when it began and ended. */
	time_s: number;
	start_s: number;
	end_s: number;
}

/** The records of every combine in order of time, cut into segments that leave out none. */
export interface Timeline {
	/** One a combine. */
	orders: Int32Array[];
	segments: Segment[];
	/** Segment of each unloading, by its index. */
	ofUnloading: Int32Array;
	/** Account mass of each combine's whole field. */
	account_kg: number[];
}

/** Cuts every combine's records into one segment an unloading and one for each stretch between and after. */
export function timeline(records: Records, account: Account, match: Match): Timeline {
	const orders = records.combines.map((_, c) => inTimeOrder(records, c));
	const segments: Segment[] = [];
	const ofUnloading = new Int32Array(match.unloadings.length).fill(-1);
	const account_kg: number[] = [];
	records.combines.forEach((_, c) => {
		const order = orders[c]!;
		const own = match.unloadings
			.map((u, index) => ({ from: u.from, to: u.to, index, combine: u.combine }))
			.filter((u) => u.combine === c && u.to > u.from)
			.sort((a, b) => a.from - b.from || a.to - b.to);
		let at = 0;
		const add = (from: number, to: number, unloading: number) => {
			if (to <= from) return;
			if (unloading >= 0) ofUnloading[unloading] = segments.length;
			segments.push(segmentOf(records, account, order, c, unloading, from, to));
		};
		for (const u of own) {
			const from = Math.max(at, u.from);
			add(at, from, -1);
			add(from, u.to, u.index);
			at = Math.max(at, u.to);
		}
		add(at, order.length, -1);
		account_kg.push(segments.reduce((sum, s) => sum + (s.combine === c ? s.account_kg : 0), 0));
	});
	return { orders, segments, ofUnloading, account_kg };
}

function segmentOf(
	records: Records,
	account: Account,
	order: Int32Array,
	combine: number,
	unloading: number,
	from: number,
	to: number,
): Segment {
	// Times against the first, so that sums of mass × time keep their digits.
	const first = records.time_s[order[from]!]!;
	const zero = Number.isFinite(first) ? first : 0;
	let mass = 0;
	let moment = 0;
	for (let k = from; k < to; k++) {
		const i = order[k]!;
		const m = account.account_kg[i]!;
		mass += m;
		// A record without a time stands where its neighbours do.
		const t = records.time_s[i]!;
		if (Number.isFinite(t)) moment += m * (t - zero);
	}
	const start_s = zero;
	const last = records.time_s[order[to - 1]!]!;
	const end_s = Number.isFinite(last) ? last : zero;
	const time_s = mass > 0 ? zero + moment / mass : (start_s + end_s) / 2;
	return { combine, unloading, from, to, account_kg: mass, time_s, start_s, end_s };
}
