// How often 95 % intervals hold the truth, over made fields whose every error is drawn as the estimator counts it:
// npx tsx test/factor/cover.ts [fields] [first seed]
import { solveFactors } from '../../lib/factor/index.ts';
import { CART, silent } from '../../lib/model/index.ts';
import { scaleReference } from '../../lib/reference/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { make } from './make.ts';

const fields = Number(process.argv[2] ?? 300);
const first = Number(process.argv[3] ?? 1);
const groups = new Map<string, { inside: number; n: number; z: number; half: number }>();
let alarms = 0;
let forms = 0;
for (let seed = first; seed < first + fields; seed++) {
	const random = seeded(9000 + seed);
	const between = (a: number, b: number) => a + (b - a) * random.uniform();
	const tickets = seed % 3 !== 0;
	const certified = between(-CART.certified_rel, CART.certified_rel);
	const ratio = 1 + (tickets ? between(-0.012, 0.02) : between(-0.01, 0.01));
	const fills = 4 + Math.floor(24 * random.uniform());
	const levels = [between(0.9, 1.1), between(0.9, 1.1)];
	const made = make({
		seed: 50_000 + seed,
		fills,
		factor: (c) => levels[c]!,
		slow: between(0.004, 0.01),
		tau_min: between(10, 40),
		reading_kg: between(8, 25),
		rest_kg: 40,
		ratio,
	});
	made.plan.scales = { cart: { limit_pct: 1, size_kg: null, reading_a_kg: 10, reading_b_rel: 0.001 } } as never;
	const start = made.records.time_s[0]!;
	const hours = fills * 480;
	const loads = tickets ? 2 + Math.floor(7 * random.uniform()) : 0;
	const row = { origin: { file: 'cart.csv', row: 1 }, timeGrain: 'second', scale: null, truckLoad: null };
	for (let i = 0; i < loads; i++) {
		const kg = between(20_000, 26_000);
		const time_s = start + ((i + 1) / (loads + 1)) * hours;
		const weight_kg = (kg / ratio) * (1 + 0.0015 * random.normal());
		made.book.offloads.push({ ...row, id: `L${i}`, order: i, time_s, weight_kg, truckLoad: `T${i}` } as never);
		const net_kg = kg * (1 + certified) * (1 + 0.0006 * random.normal());
		made.book.tickets.push({
			...row,
			ticket: `${i}`,
			order: i,
			time_s,
			net_kg,
			truckLoad: `T${i}`,
			combine: null,
		} as never);
	}
	made.book.dumps = made.match.weighings.map((_, i) => ({
		...row,
		id: `D${i}`,
		order: i,
		combines: [],
		emptied: 1,
	})) as never;
	made.reference = scaleReference({ book: made.book, plan: made.plan });
	const share = seed % 2 ? 1 : 0.7;
	made.match.weighings = made.match.weighings.flatMap((w) => {
		if (random.uniform() > share) return [];
		const kg = w.weight_kg * (1 + CART.stand_rel * random.normal());
		return [{ ...w, weight_kg: kg, reference_kg: kg * made.reference.ratio }];
	});
	const { factors, cautions } = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	if (/changed together/.test(cautions!.join())) alarms++;
	if (factors.some((f) => f.form !== 'constant')) forms++;
	factors.forEach((f, c) => {
		if (!Number.isFinite(f.value)) return;
		const truth = made.truth[c]!;
		const inside = f.interval[0] <= truth && truth <= f.interval[1];
		for (const key of [
			'all',
			tickets ? `tickets ${loads < 4 ? 'few' : 'many'}` : 'limit',
			`weights ${f.n < 6 ? '< 6' : f.n < 14 ? '< 14' : '14 …'}`,
			share < 1 ? 'a part weighed' : 'all weighed',
		]) {
			const g = groups.get(key) ?? { inside: 0, n: 0, z: 0, half: 0 };
			g.n++;
			g.inside += Number(inside);
			g.z += ((f.value / truth - 1) / f.u_rel) ** 2;
			g.half += (f.interval[1] - f.interval[0]) / 2 / f.value;
			groups.set(key, g);
		}
	});
}
for (const [key, g] of [...groups].sort())
	console.log(
		`${key.padEnd(16)} ${((100 * g.inside) / g.n).toFixed(1)} % of ${g.n} inside; error over u ${Math.sqrt(g.z / g.n).toFixed(2)}; half-width ${((100 * g.half) / g.n).toFixed(2)} %`,
	);
console.log(`of ${fields} fields ${alarms} with a caution on the cart's scale, ${forms} with a form`);
