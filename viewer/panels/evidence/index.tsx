/** From scale to map: certified scale → cart → dumps → factors → seams → map. */
import '../../style/evidence.css';
import { stated } from '../../../lib/model/index.ts';
import { scene } from '../../state/field.ts';
import { number, quantity, quantityRange, shownAs } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Effect } from '../work/effect.tsx';
import { Dumps } from './dumps.tsx';
import { Factors } from './factors.tsx';
import { Ground } from './ground.tsx';
import { Remarks } from './remarks.tsx';
import { Cart, Certified } from './scale.tsx';
import { Seams } from './seams.tsx';

export function Evidence() {
	const s = scene.value;
	const t = strings.evidence;
	if (!s) return <aside class="evidence" aria-label={t.scaleToMap} />;
	const { field, result } = s.facts;
	const dry = stated(result.statements, 'dry_weight');
	const under = [field.farm, field.client, field.crop.name, field.season].filter((x) => x !== null && x !== '');
	return (
		<aside class="evidence" aria-label={t.scaleToMap}>
			<header>
				<h2 class="field-name">{field.name}</h2>
				<p class="soft">{under.join(' · ')}</p>
				<p class="total">
					<span class="numeral huge">{quantity(result.totals.dry_kg, 'grain', field.crop)}</span>{' '}
					<span class="soft">
						{t.dryGrain(
							number(field.crop.market_moisture_pct, 1),
							quantity(result.totals.area_ha, 'area', field.crop, shownAs('area', field.crop).digits),
						)}
						{dry?.interval && `; ${t.interval95(quantityRange(dry.interval, 'grain', field.crop))}`}
					</span>
				</p>
			</header>
			<Effect />
			<div class="scale-to-map">
				<Certified s={s} />
				<Cart s={s} />
				<Dumps s={s} />
				<Factors s={s} />
				<Seams s={s} />
				<Ground s={s} />
			</div>
			<Remarks s={s} />
		</aside>
	);
}
