import type { Scene } from '../../../lib/model/index.ts';
import { interval, number, quantity } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { ByCombine } from './by-combine.tsx';

const t = strings.compare;

/** The comparison from result.json alone, without the full one. */
export function Short({ s }: { s: Scene }) {
	const { result, combines, field } = s.facts;
	return (
		<ByCombine
			combines={combines.map((name, combine) => ({ name, combine, r: result.combines[name] }))}
			rows={[
				[
					t.factor,
					({ r }) => (
						<>
							{number(r?.factor?.value, 3)} <span class="soft">({interval(r?.factor?.interval ?? null, 3)})</span>
						</>
					),
				],
				[t.corrected, ({ r }) => quantity(r?.corrected_kg, 'mass', field.crop)],
				[t.lag, ({ r }) => `${number(r?.lag_s, 1)} s`],
				[t.flagged, ({ r }) => (r ? `${number((100 * r.flagged) / r.records, 1)}%` : '–')],
			]}
		/>
	);
}
