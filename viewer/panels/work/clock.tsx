import { useSignal } from '@preact/signals';
import type { Scene } from '../../../lib/model/index.ts';
import { PIN_LIMITS } from '../../../lib/model/limits.ts';
import { Button } from '../../inputs.tsx';
import { edits } from '../../state/edits.ts';
import { duration, number } from '../../state/format.ts';
import { token } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { PlotBox } from '../evidence/plot.tsx';
import { NumberInput } from './number-input.tsx';
import { canOverride, pin } from './override.ts';

const t = strings.work;

/** The cart clock: drag its offset and see the misfit of the dumps. */
export function Clock({ s }: { s: Scene }) {
	const { clock } = s.facts.result;
	const fit = s.facts.evidence?.clockFit ?? [];
	const pinned = edits.value.pins.clock_offset_s;
	const dragged = useSignal<number | null>(null);
	const stands = pinned ?? clock.offset_s ?? 0;
	const now = dragged.value ?? stands;
	const reach = Math.max(600, Math.ceil(Math.abs(stands) / 600) * 600 + 300);
	const shown = fit.filter((p) => Math.abs(p.offset_s) <= reach && Number.isFinite(p.cost));
	return (
		<details>
			<summary>
				{t.clock}:{' '}
				{clock.offset_s === null
					? t.clockNone
					: t.clockVerdict(
							duration(Math.abs(clock.offset_s)),
							clock.offset_s >= 0,
							number(1.96 * (clock.u_s ?? Number.NaN), 0),
						)}
			</summary>
			<div class="overrule">
				{shown.length > 2 && (
					<PlotBox
						label={t.clockPlot}
						on={`${fit.length}/${now}`}
						options={(P) => ({
							height: 80,
							marginLeft: 12,
							marginRight: 12,
							marginBottom: 22,
							x: {
								domain: [-reach, reach],
								label: null,
								ticks: reach > 3600 ? 3 : 5,
								tickFormat: (v: number) => duration(v),
							},
							y: { axis: null },
							marks: [
								P.lineY(shown, { x: 'offset_s', y: 'cost', stroke: token('--accent'), clip: true }),
								P.ruleX([now], { stroke: token('--lit'), strokeWidth: 1.5 }),
							],
						})}
					/>
				)}
				{canOverride(s) && (
					<>
						<input
							type="range"
							min={-reach}
							max={reach}
							step={1}
							value={now}
							aria-label={t.clockDrag}
							aria-valuetext={duration(now)}
							onInput={(e) => (dragged.value = e.currentTarget.valueAsNumber)}
							onChange={(e) => {
								const v = e.currentTarget.valueAsNumber;
								dragged.value = null;
								pin(t.clock, (pins) => ({ ...pins, clock_offset_s: v }), true);
							}}
						/>
						<div class="row">
							<NumberInput
								before={t.clockSeconds}
								value={Math.round(now)}
								min={PIN_LIMITS.clock_offset_s[0]}
								max={PIN_LIMITS.clock_offset_s[1]}
								change={(v) => {
									if (Number.isFinite(v)) pin(t.clock, (pins) => ({ ...pins, clock_offset_s: v }), true);
								}}
							/>
							{pinned !== undefined && (
								<Button
									class="plain"
									onClick={() => pin(t.clockEstimate, ({ clock_offset_s: _, ...rest }) => rest)}
									text={t.clockEstimate}
								/>
							)}
						</div>
					</>
				)}
			</div>
		</details>
	);
}
