/** Marks of dumps on the map, during the replay and for the highlighted dump. */
import { computed, signal } from '@preact/signals';
import type { Map as MapLibre } from 'maplibre-gl';
import { shines } from '../../panels/evidence/shine.ts';
import { litOfDump, scene, shining } from '../../state/field.ts';
import { until } from '../state.ts';
import { times } from '../tools/replay.tsx';
import { planeOf } from './plane.ts';

interface Place {
	index: number;
	time_s: number;
	at: [number, number];
	combine: number;
}

/** A dump is drawn where its combine's last record before its end was cut. */
const places = computed<Place[]>(() => {
	const s = scene.value;
	if (!s) return [];
	const plane = planeOf(s.facts.origin);
	const dumps = s.facts.result.dumps.map((d) => ({
		time_s: d.end ? Date.parse(d.end) / 1000 : Number.NaN,
		combine: s.facts.combines.indexOf(d.combine ?? ''),
	}));
	// Go through each combine in order of time, so that each record is visited once for any number of dumps.
	const order = s.facts.combines.map((_, c) =>
		[...dumps.keys()]
			.filter((k) => dumps[k]!.combine === c && Number.isFinite(dumps[k]!.time_s))
			.sort((p, q) => dumps[p]!.time_s - dumps[q]!.time_s),
	);
	const best = dumps.map(() => -1);
	for (let i = 0; i < s.n; i++) {
		if (Number.isNaN(s.corners_m[8 * i]!)) continue;
		const list = order[s.combine[i]!] ?? [];
		const time = s.time_s[i]!;
		let low = 0;
		let high = list.length;
		while (low < high) {
			const mid = (low + high) >> 1;
			if (dumps[list[mid]!]!.time_s < time) low = mid + 1;
			else high = mid;
		}
		const k = list[low];
		if (k !== undefined && (best[k]! < 0 || time > s.time_s[best[k]!]!)) best[k] = i;
	}
	// With nothing cut between two dumps, both are at the same place.
	for (const list of order) {
		for (let j = 1; j < list.length; j++) if (best[list[j]!]! < 0) best[list[j]!] = best[list[j - 1]!]!;
	}
	return dumps.flatMap(({ time_s, combine }, index) => {
		const i = best[index]!;
		if (i < 0) return [];
		const at = plane.toDegrees(s.corners_m[8 * i + 2]!, s.corners_m[8 * i + 3]!);
		return [{ index, time_s, at, combine }];
	});
});

/** Counts the map's moves, to update screen positions. */
export const moved = signal(0);

export function DumpMarks(props: { map: MapLibre | null }) {
	const s = scene.value;
	const { map } = props;
	moved.value;
	if (!s || !map) return null;
	const now = until.value === null ? null : times.value[0] + until.value;
	if (now === null && (!shining.value || shining.value.kind === 'record')) return null;
	const shown = places.value.filter(({ index, time_s }) => {
		const what = litOfDump(s.facts.result.dumps[index]!);
		return (now !== null && time_s <= now) || (shining.value?.kind !== 'record' && shines(what, shining.value, s));
	});
	return (
		<svg class="pointed dump-marks" aria-hidden="true">
			{shown.map(({ index, at, combine, time_s }) => {
				const p = map.project(at);
				const d = s.facts.result.dumps[index]!;
				// The newest has its name beside it.
				const fresh = now === null || now - time_s < (times.value[1] - times.value[0]) / 40;
				return (
					<g key={index} transform={`translate(${p.x.toFixed(1)},${p.y.toFixed(1)})`}>
						<circle r={fresh ? 6 : 4} class={d.status === 'aside' ? 'aside' : `c${Math.max(0, combine) % 6}`} />
						{fresh && (
							<text x={10} y={5}>
								{d.id}
							</text>
						)}
					</g>
				);
			})}
		</svg>
	);
}
