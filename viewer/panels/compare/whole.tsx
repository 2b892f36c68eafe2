import type { Scene } from '../../../lib/model/index.ts';
import { quantity } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { ByCombine } from './by-combine.tsx';

const t = strings.compare;

/** Totals of each combine over the whole field; its dry yield differs from that on shared ground. */
export function Whole({ s }: { s: Scene }) {
	const { crop } = s.facts.field;
	return (
		<section>
			<h3>{t.whole}</h3>
			<ByCombine
				combines={s.facts.evidence?.comparison?.combines ?? []}
				rows={[
					[t.wholeArea, (c) => quantity(c.area_ha, 'area', crop)],
					[t.wholeWeight, (c) => quantity(c.mass_kg, 'mass', crop)],
					[t.wholeYield, (c) => quantity(c.yield_kg_ha, 'yield', crop)],
					[t.wholeMoisture, (c) => quantity(c.moisture_pct, 'moisture', crop)],
				]}
			/>
		</section>
	);
}
