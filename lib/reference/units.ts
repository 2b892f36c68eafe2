/** Units that tickets, offloads and dumps of the same grain may have been written in. */
import { type FieldPlan, type LoadBook, TANK, TICKETS } from '../model/index.ts';
import { median } from '../stats/index.ts';
import { confusedUnits, POUND_KG } from '../units/index.ts';

/** The unit that a ratio of tickets to cart looks like, with the columns to check; null where it looks like none. */
export function unitSlip(ratio: number, plan: FieldPlan): string | null {
	const like = confusedUnits(ratio);
	if (like === null) return null;
	const tickets = plan.tickets?.columns?.net?.column ?? 'net_kg';
	const cart = plan.cartLog?.columns?.weight?.column ?? 'weight_kg';
	return `${like} (check the unit of columns ${tickets} and ${cart})`;
}

/** Whether the tickets are in pounds: dumps fit the tanks as the cart weighed them, and not as the tickets would have them. */
export function inPounds(ratio: number, { dumps }: LoadBook, { combines }: FieldPlan): boolean {
	const most_kg = TANK.heaped * Math.max(...Object.values(combines).map((c) => c.tank_kg ?? Infinity));
	const usual_kg = median(dumps.filter((d) => d.combines.length < 2).map((d) => d.weight_kg));
	return Math.abs(Math.log(ratio * POUND_KG)) < TICKETS.nearUnit && usual_kg < most_kg && usual_kg * ratio > most_kg;
}

/** What is said of dumps and offloads of the same grain that differ by a ratio of units; null where they do not. */
export function unitsApart(apart_rel: number, plan: FieldPlan): string | null {
	if (confusedUnits(1 + apart_rel) === null) return null;
	const column = plan.cartLog?.columns?.weight?.column ?? 'weight_kg';
	return `The dumps come to ${(1 + apart_rel).toPrecision(3)} times the offloads of the same grain. Possible cause: they are in different units (check the unit of column ${column}).`;
}
