/** Replay of the harvest: a slider in time with every dump on it. */
import { computed, signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { Button } from '../../inputs.tsx';
import { shines } from '../../panels/evidence/shine.ts';
import { lit, litOfDump, scene, shining } from '../../state/field.ts';
import { dateTime } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { until } from '../state.ts';

const t = strings.map;

/** Start and end of the log, seconds. */
export const times = computed<[number, number]>(() => {
	const s = scene.value;
	let [a, b] = [Infinity, -Infinity];
	for (const time of s?.time_s ?? []) {
		if (time < a) a = time;
		if (time > b) b = time;
	}
	return b > a ? [a, b] : [0, 1];
});

const running = signal(false);

export function Replay() {
	const s = scene.value;
	const [from, to] = times.value;
	useEffect(() => {
		if (!running.value) return;
		let frame = 0;
		let last = performance.now();
		const tick = (now: number) => {
			// The whole harvest takes about thirty seconds at any frame rate.
			const next = (until.value ?? 0) + ((now - last) / 30_000) * (to - from);
			last = now;
			if (next >= to - from) {
				until.value = null;
				running.value = false;
				return;
			}
			until.value = next;
			frame = requestAnimationFrame(tick);
		};
		frame = requestAnimationFrame(tick);
		return () => cancelAnimationFrame(frame);
	}, [running.value]);
	if (!s) return null;
	const now = until.value;
	const dumps = s.facts.result.dumps.flatMap((d) => {
		const end = d.end ? Date.parse(d.end) / 1000 : Number.NaN;
		return end >= from && end <= to ? [{ d, share: (end - from) / (to - from) }] : [];
	});
	return (
		<div class="replay">
			<Button
				aria-pressed={running.value}
				onClick={() => {
					if (!running.value && now === null) until.value = 0;
					running.value = !running.value;
				}}
				text={running.value ? t.pause : t.replay}
			/>
			<div class="replay-track">
				<input
					type="range"
					min={0}
					max={to - from}
					step={Math.max(1, (to - from) / 2000)}
					value={now ?? to - from}
					aria-label={t.replayTo}
					aria-valuetext={dateTime(from + (now ?? to - from), s.facts.field.timeZone)}
					onInput={(e) => {
						const v = e.currentTarget.valueAsNumber;
						until.value = v >= to - from ? null : v;
					}}
				/>
				<svg aria-hidden="true" viewBox="0 0 1000 10" preserveAspectRatio="none">
					{dumps.map(({ d, share }, i) => {
						const what = litOfDump(d);
						return (
							<rect
								key={`${d.id}/${i}`}
								class={`c${s.facts.combines.indexOf(d.combine ?? '') % 6} ${shines(what, shining.value, s) ? 'lit' : ''} ${d.status === 'aside' ? 'aside' : ''}`}
								x={1000 * share - 2}
								width={4}
								y={0}
								height={10}
								onPointerEnter={() => (lit.value = what)}
								onPointerLeave={() => (lit.value = null)}
							/>
						);
					})}
				</svg>
			</div>
			<span class="soft small">{now === null ? t.wholeHarvest : dateTime(from + now, s.facts.field.timeZone)}</span>
		</div>
	);
}
