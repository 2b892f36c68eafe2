import type { ComparedRow, Scene } from '../../../lib/model/index.ts';
import { number, own, signed, signedInterval } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Heads, ScrollBox } from '../../table.tsx';
import { CombineName } from '../evidence/link.tsx';
import { Short } from './short.tsx';
import { unitOf } from './units.ts';
import { Whole } from './whole.tsx';

const t = strings.compare;

export function Table({ s }: { s: Scene }) {
	const comparison = s.facts.evidence?.comparison;
	if (!comparison || comparison.pairs.length === 0) return <Short s={s} />;
	const { combines } = s.facts;
	return (
		<>
			{comparison.pairs.map((pair) => (
				<ScrollBox class="table-box whole" key={`${pair.combineA}/${pair.combineB}`}>
					<table>
						<Heads
							of={[
								t.what,
								{ n: <CombineName combine={pair.combineA} name={combines[pair.combineA]!} /> },
								{ n: <CombineName combine={pair.combineB} name={combines[pair.combineB]!} /> },
								{ n: t.difference },
								{ n: t.interval },
								t.verdict,
							]}
						/>
						<tbody>
							{pair.rows.map((row) => (
								<Row key={row.what} row={row} s={s} />
							))}
						</tbody>
					</table>
					{pair.remarks.map((r) => (
						<p key={r} class="small">
							{own(r)}
						</p>
					))}
					<p class="small soft">{t.byChance}</p>
				</ScrollBox>
			))}
			<Whole s={s} />
		</>
	);
}

function Row({ row, s }: { row: ComparedRow; s: Scene }) {
	const { unit, factor, digits } = unitOf(row, s);
	// Values from the worker are null where not known.
	const of = (v: number | null) => number(v === null ? null : v * factor, digits);
	return (
		<tr>
			<th scope="row">
				{t.rows[row.what]}
				{unit && <span class="soft">, {unit}</span>}
				{row.shared && <span class="soft"> {t.shared}</span>}
			</th>
			<td class="n">{of(row.a)}</td>
			<td class="n">{of(row.b)}</td>
			<td class="n">{signed(row.difference * factor, digits)}</td>
			<td class="n">
				{row.interval.every(Number.isFinite)
					? signedInterval([row.interval[0] * factor, row.interval[1] * factor], digits)
					: '–'}
			</td>
			<td class={row.certain ? 'sure' : 'soft'}>{row.verdict}</td>
		</tr>
	);
}
