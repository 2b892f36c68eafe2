import type { ComponentChildren } from 'preact';
import { strings } from '../../strings/index.ts';
import { Heads } from '../../table.tsx';
import { CombineName } from '../evidence/link.tsx';

/** A table with a column for each combine. `rows` are labels and what stands under each. */
export function ByCombine<C extends { name: string; combine: number }>(props: {
	combines: readonly C[];
	rows: readonly (readonly [label: string, show: (c: C) => ComponentChildren])[];
}) {
	const { combines, rows } = props;
	return (
		<table>
			<Heads
				of={[strings.compare.what, ...combines.map((c) => ({ n: <CombineName combine={c.combine} name={c.name} /> }))]}
			/>
			<tbody>
				{rows.map(([label, show]) => (
					<tr key={label}>
						<th scope="row">{label}</th>
						{combines.map((c) => (
							<td class="n" key={c.name}>
								{show(c)}
							</td>
						))}
					</tr>
				))}
			</tbody>
		</table>
	);
}
