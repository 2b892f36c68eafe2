import { inTimeOrder, type Run } from '../../model/index.ts';

/** Names of fills and, one a record, which of them its grain went into; −1 for grain never unloaded. */
export function fillOfRecord(run: Run): { names: string[]; fill: Int32Array } {
	const { records } = run.field;
	const fill = new Int32Array(records.n).fill(-1);
	const names: string[] = [];
	const orders = new Map<number, Int32Array>();
	for (const unloading of run.match.unloadings) {
		let order = orders.get(unloading.combine);
		if (order === undefined) {
			order = inTimeOrder(records, unloading.combine);
			orders.set(unloading.combine, order);
		}
		const id = names.push(unloading.fill) - 1;
		for (let k = unloading.from; k < Math.min(unloading.to, order.length); k++) fill[order[k] as number] = id;
	}
	return { names, fill };
}
