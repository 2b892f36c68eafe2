/** A made field's weights as a chain, with settings as at the start of a solution. */
import { scalesOf } from '../../lib/factor/chain/cart-form.ts';
import { chainOf } from '../../lib/factor/chain/chain.ts';
import { restsOf, usual } from '../../lib/factor/chain/play.ts';
import { timeline } from '../../lib/factor/chain/timeline.ts';
import { CONSTANT } from '../../lib/factor/form/shape.ts';
import { inTimeOrder } from '../../lib/model/index.ts';
import { priorFactor } from '../../lib/tank/index.ts';
import type { Made } from './make.ts';

/** @param use - the weights that count, by index */
export function chained({ records, account, match, reference, book, plan }: Made, use: readonly number[]) {
	const orders = records.combines.map((_, c) => inTimeOrder(records, c));
	const time = timeline({ records, account, match, orders, flow: records.flow_kg_s, events: [] });
	const rough = records.combines.map(() => 1);
	const scales = scalesOf(match, reference, book, plan);
	const chain = chainOf({ match, time, scales, scaleRatio: 1, use, rough });
	const shapes = rough.map(() => CONSTANT);
	return { chain, play: { ...usual(rough, shapes, restsOf(match, rough), []), prior: () => priorFactor(1) } };
}
