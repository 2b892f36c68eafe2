/** Last step: the map, and how it compares with the field's totals. */
import { type Scene, stated } from '../../../lib/model/index.ts';
import { Button } from '../../inputs.tsx';
import { chooseFlag } from '../../map/tools/select.ts';
import { flagWords, number, quantity, quantityRange, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Heads } from '../../table.tsx';
import { OverrideFlags } from '../work/override-flags.tsx';
import { Link } from './link.tsx';

const t = strings.evidence;

export function Ground({ s }: { s: Scene }) {
	const { result, field, flags } = s.facts;
	const { totals } = result;
	const state = (what: 'mean_yield' | 'map_share' | 'map_weight') => stated(result.statements, what);
	const mean = state('mean_yield');
	const share = state('map_share')?.value ?? Number.NaN;
	const off = state('map_weight');
	const counts = new Uint32Array(flags.length);
	const area = new Float64Array(flags.length);
	for (let i = 0; i < s.n; i++) {
		counts[s.flag[i]!]!++;
		if (s.area_m2[i]! > 0) area[s.flag[i]!]! += s.area_m2[i]! / 10_000;
	}
	const flagged = s.n - counts[0]!;
	return (
		<Link
			id="ground"
			name={t.ground}
			verdict={t.groundVerdict(
				quantity(totals.area_ha, 'area', field.crop),
				number(share, 0),
				off ? signed(off.value, 2) : null,
			)}
			figure={{
				value: quantity(mean?.value, 'yield', field.crop),
				interval: t.atMarket(
					number(field.crop.market_moisture_pct, 1),
					mean?.interval ? quantityRange(mean.interval, 'yield', field.crop) : null,
				),
			}}
			tableName={t.flagTable(number(flagged, 0))}
			table={
				<table>
					<Heads of={[t.flag, { n: t.records }, { n: t.area }]} />
					<tbody>
						{flags.map((f, k) =>
							counts[k] === 0 ? null : (
								<tr key={f}>
									<th scope="row">
										<Button class="plain" onClick={() => chooseFlag(k, flagWords(f))} text={flagWords(f)} />
									</th>
									<td class="n">{number(counts[k]!, 0)}</td>
									<td class="n">{quantity(area[k]!, 'area', field.crop)}</td>
								</tr>
							),
						)}
					</tbody>
				</table>
			}
		>
			<OverrideFlags s={s} />
		</Link>
	);
}
