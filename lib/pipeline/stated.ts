import { type FieldPlan, InputFault, type Records, type SetAside, Stopped, wholeFile } from '../model/index.ts';
import type { factorsOf } from './factors.ts';

/** Faults that report impossible statements of the user. */
const fault = (file: string, column: string | null, found: unknown, why: string): SetAside =>
	wholeFile(file, String(found ?? ''), why, column);

/** Solves the factors; a pinned form that the records cannot determine is a fault. */
export function formsStated<T>(plan: FieldPlan, solve: () => T): T {
	try {
		return solve();
	} catch (thrown) {
		const pins = Object.entries(plan.pins.factors ?? {});
		const forms = pins.filter(([, pin]) => pin.form && pin.form !== 'constant');
		if (forms.length === 0 || thrown instanceof Stopped || thrown instanceof InputFault) throw thrown;
		const why = 'weights and records cannot show such a form here; pin "constant", or leave the form to be estimated';
		throw new InputFault(forms.map(([name, { form }]) => fault('field.json', `pins.factors.${name}.form`, form, why)));
	}
}

type Solved = ReturnType<typeof factorsOf>;

/** The factors as solved; a total or a factor set by hand that leaves another combine a negative mass is a fault. */
export function possible(plan: FieldPlan, records: Records, solved: Solved): Solved {
	const pins = Object.entries(plan.pins.factors ?? {});
	const below = solved.factors.factor.findIndex((value) => value <= 0);
	if (below < 0) return solved;
	const name = records.combines[records.combine[below]!];
	const why = `with this, combine ${name} would have a weight below 0: what is stated contradicts what was weighed`;
	const faults = pins
		.filter(([, pin]) => pin.value !== undefined)
		.map(([pinned, { value }]) => fault('field.json', `pins.factors.${pinned}.value`, value, why));
	if (plan.total) faults.push(fault('field.json', 'total.wet_kg', plan.total.wet_kg, why));
	if (faults.length === 0) faults.push(fault(plan.cartLog?.file ?? plan.tickets?.file ?? 'field.json', null, '', why));
	throw new InputFault(faults);
}
