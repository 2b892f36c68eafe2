import type { Scene } from '../../../lib/model/index.ts';
import { FLAG_LIMITS } from '../../../lib/model/limits.ts';
import { thresholdScale } from '../../../lib/units/index.ts';
import { edits, step } from '../../state/edits.ts';
import { units } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { NumberInput } from './number-input.tsx';
import { canOverride } from './override.ts';

const t = strings.work;

/** What a threshold may be, in the unit shown; some scales run the other way. */
function boundsOf(word: string, show: (value: number) => number): { min: number; max: number } {
	const [low, high] = FLAG_LIMITS[word as keyof typeof FLAG_LIMITS];
	const ends = [show(low), show(high)].sort((a, b) => a - b);
	return { min: Number(ends[0]!.toPrecision(4)), max: Number(ends[1]!.toPrecision(4)) };
}

/** Thresholds of flags: the values in use, with fields to change them. */
export function OverrideFlags({ s }: { s: Scene }) {
	const { evidence, combines } = s.facts;
	if (!canOverride(s) || !evidence) return null;
	const words = Object.keys(t.thresholds) as (keyof typeof t.thresholds)[];
	const found = (word: string) =>
		combines.map((name) => evidence.thresholds[`${name}.${word}`]).filter((v): v is number => Number.isFinite(v));
	return (
		<details>
			<summary>{t.overruleFlags}</summary>
			<div class="overrule">
				{words.map((word) => {
					const was = found(word);
					if (was.length === 0 && word !== 'lone') return null;
					const now = edits.value.flags[word];
					const scale = thresholdScale(word, units.value);
					const shown = (v: number | undefined) => (v === undefined ? '' : Number(scale.show(v).toPrecision(4)));
					return (
						<NumberInput
							key={word}
							after={`${t.thresholds[word]}${scale.unit === '' ? '' : `, ${scale.unit}`}`}
							{...boundsOf(word, scale.show)}
							value={shown(now)}
							placeholder={shown(was[0])}
							change={(typed) => {
								const v = Number(scale.read(typed).toPrecision(8));
								const { [word]: _, ...rest } = edits.value.flags;
								step(t.pinnedFlag(t.thresholds[word]), {
									...edits.value,
									flags: Number.isFinite(v) ? { ...rest, [word]: v } : rest,
								});
							}}
						/>
					);
				})}
			</div>
		</details>
	);
}
