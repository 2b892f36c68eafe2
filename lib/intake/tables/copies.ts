import type { LogRows } from '../model.ts';

/** Share of a log's records found in another that makes it a copy; a smaller overlap is set aside record by record later. */
const COPY = 0.95;
/** About a meter: exports round positions, and two machines never stand this close. */
const SAME_DEG = 1.1e-5;

/**
 * Logs whose records are in another log of the drop (saved under another name, shuffled, exported again): for each the
 * index of the log that has them, or −1.
 */
export function copiesOf(logs: readonly LogRows[]): Int32Array {
	const copy = new Int32Array(logs.length).fill(-1);
	const held = logs.map((log) => log.keep.reduce((sum, k) => sum + k, 0));
	const at: (Map<number, number> | undefined)[] = [];
	const rowAt = (k: number) => (at[k] ??= byTime(logs[k]!));
	// The larger first: a log with all of another's records and more is not a copy of it.
	const order = logs.map((_, k) => k).sort((a, b) => held[b]! - held[a]! || a - b);
	order.forEach((k, n) => {
		const log = logs[k]!;
		if (log.timeless || held[k] === 0) return;
		for (const other of order.slice(0, n)) {
			const first = logs[other]!;
			if (copy[other] !== -1 || first.timeless) continue;
			if (shared(log, first, rowAt(other)) > COPY * held[k]!) {
				copy[k] = other;
				return;
			}
		}
	});
	return copy;
}

function byTime({ time_s, keep }: LogRows): Map<number, number> {
	const out = new Map<number, number>();
	for (let i = 0; i < time_s.length; i++) if (keep[i] === 1) out.set(time_s[i]!, i);
	return out;
}

function shared(log: LogRows, first: LogRows, at: Map<number, number>): number {
	let same = 0;
	for (let i = 0; i < log.n; i++) {
		const j = log.keep[i] === 1 ? at.get(log.time_s[i]!) : undefined;
		if (j === undefined) continue;
		const apart = Math.max(
			Math.abs(log.lat_deg[i]! - first.lat_deg[j]!),
			Math.abs(log.lon_deg[i]! - first.lon_deg[j]!),
		);
		if (apart <= SAME_DEG) same++;
	}
	return same;
}
