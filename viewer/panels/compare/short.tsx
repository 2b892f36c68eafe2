import type { Scene } from '../../../lib/model/index.ts';
import { interval, number, quantity } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Heads } from '../../table.tsx';
import { CombineName } from '../evidence/link.tsx';

const t = strings.compare;

/** The comparison from result.json alone, without the full one. */
export function Short({ s }: { s: Scene }) {
	const { result, combines, field } = s.facts;
	return (
		<table>
			<Heads of={[t.what, ...combines.map((name, c) => ({ n: <CombineName combine={c} name={name} /> }))]} />
			<tbody>
				<tr>
					<th scope="row">{t.factor}</th>
					{combines.map((name) => {
						const f = result.combines[name]?.factor;
						return (
							<td class="n" key={name}>
								{number(f?.value, 3)} <span class="soft">({interval(f?.interval ?? null, 3)})</span>
							</td>
						);
					})}
				</tr>
				<tr>
					<th scope="row">{t.corrected}</th>
					{combines.map((name) => (
						<td class="n" key={name}>
							{quantity(result.combines[name]?.corrected_kg, 'mass', field.crop)}
						</td>
					))}
				</tr>
				<tr>
					<th scope="row">{t.lag}</th>
					{combines.map((name) => (
						<td class="n" key={name}>
							{number(result.combines[name]?.lag_s, 1)} s
						</td>
					))}
				</tr>
				<tr>
					<th scope="row">{t.flagged}</th>
					{combines.map((name) => {
						const c = result.combines[name];
						return (
							<td class="n" key={name}>
								{c ? `${number((100 * c.flagged) / c.records, 1)}%` : '–'}
							</td>
						);
					})}
				</tr>
			</tbody>
		</table>
	);
}
