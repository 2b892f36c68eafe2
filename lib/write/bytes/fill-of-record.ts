import { inTimeOrder, type RunOfRecords, remembered } from '../../model/index.ts';

/** Names of fills and, for each record, the fill that its grain belongs to; −1 for grain never unloaded. */
export function fillOfRecord(run: RunOfRecords): { names: string[]; fill: Int32Array } {
	const { records } = run.field;
	const fill = new Int32Array(records.n).fill(-1);
	const ids = new Map<string, number>();
	const orders = new Map<number, Int32Array>();
	for (const unloading of run.match.unloadings) {
		const order = remembered(orders, unloading.combine, () => inTimeOrder(records, unloading.combine));
		// Dumps between which grain stayed in the tank share a fill.
		const id = ids.get(unloading.fill) ?? ids.size;
		ids.set(unloading.fill, id);
		for (let k = unloading.from; k < Math.min(unloading.to, order.length); k++) fill[order[k]!] = id;
	}
	return { names: [...ids.keys()], fill };
}
