/** Effect of the last change: factors and totals before and after it. */

import { factorRange } from '../../../lib/units/index.ts';
import { previous } from '../../engine/open.ts';
import { changed, history } from '../../state/edits.ts';
import { scene } from '../../state/field.ts';
import { number, numbers, quantity, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';

export function Effect() {
	const t = strings.work;
	const s = scene.value;
	const was = previous.value;
	if (!s || !was || !changed.value) return null;
	const rows = s.facts.combines.flatMap((name) => {
		const now = s.facts.result.combines[name]?.factor ?? null;
		const then = was.facts.result.combines[name]?.factor ?? null;
		return now || then ? [{ name, now, then }] : [];
	});
	const [dry, dryWas] = [s.facts.result.totals.dry_kg, was.facts.result.totals.dry_kg];
	return (
		<section class="effect" role="status" aria-label={t.effect}>
			<h3>{t.effectOf(history.value.past.at(-1)?.label ?? '')}</h3>
			<ul>
				{rows.map((r) => (
					<li key={r.name}>
						{r.name}: {number(r.then?.value, 3)} → <b>{number(r.now?.value, 3)}</b>{' '}
						<span class="soft">({r.now ? factorRange(r.now.interval, numbers) : '–'})</span>
					</li>
				))}
				<li>
					{strings.map.dryGrain}: {quantity(dryWas, 'grain', s.facts.field.crop)} →{' '}
					<b>{quantity(dry, 'grain', s.facts.field.crop)}</b> ({signed(100 * (dry / dryWas - 1), 2)}%)
				</li>
			</ul>
		</section>
	);
}
