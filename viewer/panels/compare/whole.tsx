import type { Scene } from '../../../lib/model/index.ts';
import { quantity } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Heads } from '../../table.tsx';
import { CombineName } from '../evidence/link.tsx';

const t = strings.compare;

/** Totals of each combine over the whole field; its dry yield differs from that on shared ground. */
export function Whole({ s }: { s: Scene }) {
	const list = s.facts.evidence?.comparison?.combines ?? [];
	const { crop } = s.facts.field;
	const rows: [string, (c: (typeof list)[number]) => string][] = [
		[t.wholeArea, (c) => quantity(c.area_ha, 'area', crop)],
		[t.wholeWeight, (c) => quantity(c.mass_kg, 'mass', crop)],
		[t.wholeYield, (c) => quantity(c.yield_kg_ha, 'yield', crop)],
		[t.wholeMoisture, (c) => quantity(c.moisture_pct, 'moisture', crop)],
	];
	return (
		<section>
			<h3>{t.whole}</h3>
			<table>
				<Heads of={[t.what, ...list.map((c) => ({ n: <CombineName combine={c.combine} name={c.name} /> }))]} />
				<tbody>
					{rows.map(([name, show]) => (
						<tr key={name}>
							<th scope="row">{name}</th>
							{list.map((c) => (
								<td class="n" key={c.name}>
									{show(c)}
								</td>
							))}
						</tr>
					))}
				</tbody>
			</table>
		</section>
	);
}
