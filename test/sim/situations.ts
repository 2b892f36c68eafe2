import type { Kind, Scenario, Sim } from './index.ts';

/**
 * Situations on partial or wrong evidence: what a simulated field's files become in the hands of the people who keep
 * them. The truth stays that of the simulation, except where a log itself is changed: then `scale` says by how much
 * its monitor's sum was.
 */
export interface Situation {
	name: string;
	kind: Kind;
	/** Changes the drawn scenario before the day is driven. */
	scenario?: (s: Scenario) => void;
	/** Changes the files; returns true monitor sums / written monitor sums by combine where a log was changed. */
	edit: (files: Files, sim: Sim) => void;
	/** What a caution must name where the factor is not right. */
	names: RegExp;
	/** kg in one unit of the weights as written: the factor is for those. */
	unit_kg?: (sim: Sim) => number;
	/** A log lost rows, and what the others say of their grain stays true. */
	asSimulated?: true;
	/** The clock's offset is changed by so much. */
	clock_s?: (seed: number) => number;
}

export interface Row {
	[column: string]: string;
}

/** The folder's tables, read and written by column. */
export class Files {
	readonly texts: Map<string, string>;
	constructor(texts: Map<string, string>) {
		this.texts = new Map(texts);
	}
	has(name: string): boolean {
		return this.texts.has(name);
	}
	table(name: string): { head: string[]; rows: Row[] } {
		const lines = this.texts.get(name)!.trimEnd().split('\n');
		const head = lines[0]!.split(',');
		const rows = lines.slice(1).map((line) => {
			const cells = line.split(',');
			return Object.fromEntries(head.map((h, i) => [h, cells[i] ?? '']));
		});
		return { head, rows };
	}
	put(name: string, head: string[], rows: Row[]): void {
		this.texts.set(
			name,
			`${[head, ...rows.map((r) => head.map((h) => r[h] ?? ''))].map((r) => r.join(',')).join('\n')}\n`,
		);
	}
	edit(name: string, change: (rows: Row[], head: string[]) => unknown): void {
		const { head, rows } = this.table(name);
		const changed = change(rows, head);
		this.put(name, head, Array.isArray(changed) ? (changed as Row[]) : rows);
	}
	cart(change: (rows: Row[], head: string[]) => unknown): void {
		this.edit('cart.csv', change);
	}
	// biome-ignore lint/suspicious/noExplicitAny: field.json as it is written, to any depth
	plan(change: (plan: Record<string, any>) => void): void {
		const plan = JSON.parse(this.texts.get('field.json')!);
		change(plan);
		this.texts.set('field.json', JSON.stringify(plan));
	}
	/** Logs by combine, each in a file of its own. */
	log(combine: string, change: (rows: Row[], head: string[]) => unknown): void {
		this.edit(`combine-${combine}.csv`, change);
	}
	drop(name: string, key: string): void {
		this.texts.delete(name);
		this.plan((p) => delete p[key]);
	}
	noTickets(limit = 1): void {
		if (this.has('tickets.csv')) this.drop('tickets.csv', 'tickets');
		this.plan((p) => (p.scales.cart.limit_pct = limit));
	}
}

export const single = (s: Scenario): void => {
	s.log.oneFile = false;
	s.log.local = false;
};
/** A cart within its limits: what is under test is elsewhere. */
export const good = (s: Scenario): void => {
	single(s);
	s.cart.limit_pct = 1;
	s.cart.ratio = 1 + (s.cart.ratio - 1.004) * 0.3;
};
export const bare = (s: Scenario): void => {
	good(s);
	s.notes.combine = false;
	s.notes.emptied = false;
	s.log.auger = false;
};
export const noAuger = (s: Scenario): void => {
	good(s);
	s.log.auger = false;
};
export const isDump = (r: Row): boolean => r.event === 'dump';
export const half = (rows: Row[]): number => Math.floor(rows.length / 2);

/** Keeps n dumps from the middle of the day, those of one combine or as they come. */
function midday(rows: Row[], sim: Sim, n: number, of: 'A' | 'each' | 'any'): Row[] {
	const combineOf = (r: Row): string => sim.truth.dumps.find((d) => d.id === r.id)!.combines.join('+');
	const dumps = rows.filter(isDump);
	const middle = dumps.slice(Math.floor(dumps.length * 0.4));
	if (of === 'each')
		return ['A', 'B']
			.flatMap((c) => middle.filter((r) => combineOf(r) === c).slice(0, n))
			.sort((a, b) => dumps.indexOf(a) - dumps.indexOf(b));
	return middle.filter((r) => of === 'any' || combineOf(r) === of).slice(0, n);
}

const few = (name: string, n: number, of: 'A' | 'each' | 'any', noted: boolean, clock = false): Situation => ({
	name,
	kind: 'labeled',
	scenario: noted ? good : bare,
	names: /clocks? .*(fits?|offsets|either)/i,
	...(clock ? { clock_s: (seed: number) => [3600, -3600, 7 * 3600, -7 * 3600, 1260, -5400][seed % 6]! } : {}),
	edit: (files, sim) => {
		files.noTickets();
		files.cart((rows) => midday(rows, sim, n, of));
	},
});

const every = (name: string, noted: boolean, clock = false): Situation => ({
	...few(name, 0, 'any', noted, clock),
	edit: (files) => {
		files.noTickets();
		files.cart((rows) => rows.filter(isDump).filter((_, i) => i % 2 === 1));
	},
});

/** Kilograms in a pound, exact. */
export const POUND_KG = 0.45359237;

export const flows = (rows: Row[], change: (kg_s: number) => number): void => {
	for (const r of rows) r.flow_kg_s = change(Number(r.flow_kg_s)).toFixed(3);
};

export const weights = (rows: Row[], change: (kg: number, i: number, r: Row, n: number) => number): void => {
	rows.forEach((r, i) => {
		r.weight_kg = String(Math.round(change(Number(r.weight_kg), i, r, rows.length) * 1000) / 1000);
	});
};

/** Flows above this quantile grow by a share of what they should. */
function saturate(rows: Row[], quantile: number, share: number): void {
	const flows = rows
		.map((r) => Number(r.flow_kg_s))
		.filter((x) => x > 0.5)
		.sort((a, b) => a - b);
	const top = flows[Math.floor(quantile * flows.length)]!;
	for (const r of rows) {
		const q = Number(r.flow_kg_s);
		if (q > top) r.flow_kg_s = (top + share * (q - top)).toFixed(3);
	}
}

/** A time as written, days later. */
function moved(time: string, days: number): string {
	const day = new Date(Date.parse(`${time.slice(0, 10)}T00:00:00Z`) + 86_400_000 * days);
	return day.toISOString().slice(0, 10) + time.slice(10);
}

/** The cart log with another date. */
function shiftDays(files: Files, days: number): void {
	files.cart((rows) => {
		for (const r of rows) r.time = moved(r.time!, days);
	});
}

/** A few dumps in the middle of the day, weighed in another unit. */
const fewIn = (
	name: string,
	n: number,
	noted: boolean,
	into: (kg: number, sim: Sim) => number,
	unit_kg: (sim: Sim) => number,
): Situation => ({
	...few(name, n, noted ? 'A' : 'any', noted),
	names: /unit/i,
	unit_kg,
	edit: (files, sim) => {
		files.noTickets();
		files.cart((rows) => {
			const some = midday(rows, sim, n, noted ? 'A' : 'any');
			weights(some, (kg) => into(kg, sim));
			return some;
		});
	},
});

/** Exchanges the combines' names. */
const exchange = (rows: Row[]): void => {
	for (const r of rows) r.combine = r.combine === 'A' ? 'B' : r.combine === 'B' ? 'A' : r.combine!;
};

export const usual = (
	name: string,
	edit: Situation['edit'],
	names: RegExp,
	more: Partial<Situation> = {},
): Situation => ({
	name,
	kind: 'labeled',
	scenario: good,
	names,
	edit,
	...more,
});

/** The first dumps and offloads of the day, some weights mistyped; offloads tell. */
const mistyped = (name: string, dumps: number, wrong: Record<number, number>, scenario = good): Situation =>
	usual(
		name,
		(f) => {
			const trucks = new Set<string>();
			f.cart((rows) => {
				const last = rows.indexOf(rows.filter(isDump)[dumps - 1] ?? rows.at(-1)!);
				const end = rows.findIndex((r, i) => i > last && !isDump(r));
				const some = end < 0 ? rows : rows.slice(0, end + 1);
				const list = some.filter(isDump);
				for (const [i, by] of Object.entries(wrong))
					list[Number(i)]!.weight_kg = String(5 * Math.round((Number(list[Number(i)]!.weight_kg) * by) / 5));
				for (const r of some) trucks.add(r.truck_load ?? '');
				return some;
			});
			if (f.has('tickets.csv'))
				f.edit('tickets.csv', (rows) => rows.filter((r) => trucks.has(r.truck_load ?? '')).slice(0, -1));
		},
		/not used|wrong weight|truckload/i,
		{ scenario },
	);

export const SITUATIONS: Situation[] = [
	few('one dump, noted', 1, 'A', true),
	few('two dumps of one, noted', 2, 'A', true),
	few('three dumps of one, noted', 3, 'A', true),
	few('one dump of each, noted', 1, 'each', true),
	few('two of each, noted', 2, 'each', true),
	few('one dump, bare', 1, 'A', false),
	few('three dumps, bare', 3, 'any', false),
	few('four dumps, bare', 4, 'any', false),
	few('one dump, clock', 1, 'A', true, true),
	few('three dumps, clock', 3, 'A', true, true),
	few('two of each, clock', 2, 'each', true, true),
	every('every second, noted', true),
	every('every second, bare', false),
	every('every second, bare, clock', false, true),
	usual('one log in lb/s', (f) => f.log('A', (rows) => flows(rows, (kg_s) => kg_s / POUND_KG)), /unit/i),
	usual(
		'one log in lb/s from noon',
		(f) => f.log('A', (rows) => flows(rows.slice(half(rows)), (kg_s) => kg_s / POUND_KG)),
		/unit/i,
	),
	usual(
		'both logs in lb/s',
		(f) => {
			for (const c of ['A', 'B']) f.log(c, (rows) => flows(rows, (kg_s) => kg_s / POUND_KG));
		},
		/unit/i,
	),
	usual(
		'logs in t/h',
		(f) => {
			for (const c of ['A', 'B']) f.log(c, (rows) => flows(rows, (kg_s) => kg_s * 3.6));
		},
		/unit/i,
	),
	usual(
		'weights in bushels',
		(f, sim) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg) => kg / sim.scenario.crop.bushel_kg));
		},
		/unit/i,
		{ unit_kg: (sim) => sim.scenario.crop.bushel_kg },
	),
	usual(
		'weights in tonnes',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg) => kg / 1000));
		},
		/unit/i,
		{ unit_kg: () => 1000 },
	),
	usual(
		'weights in tonnes, the cart nine minutes off',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg) => kg / 1000));
		},
		/unit/i,
		{ unit_kg: () => 1000, clock_s: () => 547 },
	),
	usual(
		'weights in pounds',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg) => kg / POUND_KG));
		},
		/unit/i,
		{ unit_kg: () => POUND_KG },
	),
	usual(
		'weights in pounds, bare, clock',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg) => kg / POUND_KG));
		},
		/unit/i,
		{ scenario: bare, clock_s: () => 3600, unit_kg: () => POUND_KG },
	),
	usual(
		'cart loses 5 % at noon',
		(f) => f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg * 0.95 : kg))),
		/cart/i,
	),
	usual(
		'cart loses 10 % at noon',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg * 0.9 : kg)));
		},
		/cart/i,
	),
	usual(
		'cart drifts 5 %',
		(f) => f.cart((rows) => weights(rows, (kg, i, _r, n) => kg * (1 - (0.05 * i) / n))),
		/cart/i,
	),
	usual(
		'cart zero 400 kg off',
		(f) => f.cart((rows) => weights(rows, (kg, _i, r) => (isDump(r) ? kg - 400 : kg))),
		/cart|zero/i,
	),
	usual(
		'two carts',
		(f) =>
			f.cart((rows, head) => {
				head.push('scale');
				rows.forEach((r) => {
					r.scale = r.combine === 'B' ? 'second' : 'first';
				});
				weights(rows, (kg, _i, r) => (r.combine === 'B' ? kg * 0.97 : kg));
			}),
		/cart|scale/i,
	),
	usual(
		'saved before the auger stopped, moved',
		(f) =>
			f.cart((rows) => {
				let owed = 0;
				for (const r of rows)
					if (isDump(r)) {
						const next = 250;
						r.weight_kg = String(Number(r.weight_kg) - next + owed);
						owed = next;
					} else if (owed > 0) owed = 0;
			}),
		/cart|early|before/i,
	),
	usual(
		'saved before the auger stopped, lost',
		(f) => f.cart((rows) => weights(rows, (kg, _i, r) => (isDump(r) ? kg - 250 : kg))),
		/cart|early|before|offload/i,
	),
	usual(
		'tickets are dry weights',
		(f, sim) =>
			f.edit(
				'tickets.csv',
				(rows) =>
					void rows.forEach((r) => {
						r.net_kg = String(
							Math.round(
								(Number(r.net_kg) * (100 - Number(r.moisture_pct))) / (100 - sim.scenario.crop.market_moisture_pct),
							),
						);
					}),
			),
		/ticket.*(dry|moisture)|dry/i,
	),
	usual(
		'tickets 4.5 % low',
		(f) => {
			f.plan((p) => (p.scales.cart.limit_pct = 1));
			f.edit(
				'tickets.csv',
				(rows) =>
					void rows.forEach((r) => {
						r.net_kg = String(Math.round(Number(r.net_kg) * 0.955));
					}),
			);
		},
		/ticket/i,
	),
	usual(
		'ticket moisture dry basis',
		(f) =>
			f.edit(
				'tickets.csv',
				(rows) =>
					void rows.forEach((r) => {
						const m = Number(r.moisture_pct);
						r.moisture_pct = ((100 * m) / (100 - m)).toFixed(1);
					}),
			),
		/moisture/i,
	),
	usual(
		'total is dry',
		(f, sim) =>
			f.plan((p) => {
				p.total = { wet_kg: Math.round(sim.truth.dry_kg), u_pct: 0.2 };
			}),
		/total/i,
	),
	usual(
		'total 8 % too big',
		(f, sim) =>
			f.plan((p) => {
				p.total = { wet_kg: Math.round(sim.truth.wet_kg * 1.08), u_pct: 0.2 };
			}),
		/total/i,
	),
	usual('names exchanged', (f) => f.cart((rows) => exchange(rows)), /exchang|swap|other/i),
	usual('names exchanged, the cart nine minutes off', (f) => f.cart((rows) => exchange(rows)), /exchang|swap|other/i, {
		clock_s: () => 547,
	}),
	usual('names exchanged from noon', (f) => f.cart((rows) => exchange(rows.slice(half(rows)))), /exchang|swap|other/i),
	usual('names exchanged, no auger', (f) => f.cart((rows) => exchange(rows)), /exchang|swap|other/i, {
		scenario: noAuger,
	}),
	usual(
		"one log's clock an hour off",
		(f) =>
			f.log(
				'B',
				(rows) =>
					void rows.forEach((r) => {
						r.time = new Date(Date.parse(r.time!) + 3600_000).toISOString();
					}),
			),
		/clock/i,
	),
	usual(
		"one log's clock an hour off, bare",
		(f) =>
			f.log(
				'B',
				(rows) =>
					void rows.forEach((r) => {
						r.time = new Date(Date.parse(r.time!) + 3600_000).toISOString();
					}),
			),
		/clock/i,
		{ scenario: bare },
	),
	usual('monitor saturates', (f) => f.log('A', (rows) => saturate(rows, 0.55, 0.35)), /saturat|flow/i),
	usual(
		'recalibrated after the last weighed dump',
		(f) => {
			f.cart((rows) => rows.slice(0, Math.floor(0.5 * rows.length)));
			f.log(
				'A',
				(rows) =>
					void rows.slice(Math.floor(0.65 * rows.length)).forEach((r) => {
						r.flow_kg_s = (Number(r.flow_kg_s) * 1.1).toFixed(3);
					}),
			);
		},
		/not weighed|after|no dump|changed/i,
	),
	usual(
		'silent B, header a row too wide',
		(f, sim) => {
			const w = sim.scenario.combines[1]!;
			const row = w.row_m ?? w.width_m / 12;
			f.log(
				'B',
				(rows) =>
					void rows.forEach((r) => {
						r.swath_m = String(w.width_m + row);
					}),
			);
			f.plan((p) => {
				p.combines.B.swath_m = w.width_m + row;
			});
		},
		/header|width/i,
		{ kind: 'silent' },
	),
	usual(
		'rows repeated',
		(f) => f.log('A', (rows) => rows.flatMap((r, i) => (i % 1500 < 220 ? [r, { ...r }] : [r]))),
		/repeat|twice|copies|same time/i,
	),
	usual(
		'exports overlap',
		(f) =>
			f.log('A', (rows) => [
				...rows.slice(0, Math.floor(0.6 * rows.length)),
				...rows.slice(Math.floor(0.5 * rows.length)),
			]),
		/repeat|twice|copies|same time|overlap/i,
	),
	usual(
		'no records while the header is up',
		(f) => {
			for (const c of ['A', 'B']) f.log(c, (rows) => rows.filter((r) => r.header_down === '1'));
		},
		/header|gap|record/i,
	),
	usual(
		'interval contradicts times',
		(f) =>
			f.log(
				'A',
				(rows) =>
					void rows.forEach((r) => {
						r.interval_s = '2';
					}),
			),
		/interval|time/i,
	),
	usual(
		'several wrong, bare',
		(f) =>
			f.cart((rows) => {
				const dumps = rows.filter(isDump);
				dumps[3]!.weight_kg = String(Number(dumps[3]!.weight_kg) * 0.8);
				const gone = dumps[8]!;
				const twice = dumps[12]!;
				return rows.flatMap((r) => (r === gone ? [] : r === twice ? [r, { ...r, id: `${r.id}b` }] : [r]));
			}),
		/not used|doubt|twice|not weighed|Not used/i,
		{ kind: 'labeled', scenario: bare },
	),
	usual(
		'few mixed weights',
		(f) =>
			f.cart((rows) => {
				const d = rows.filter(isDump);
				return d.slice(Math.floor(d.length / 3), Math.floor(d.length / 3) + 3);
			}),
		/mixed|both|seam|few/i,
		{ kind: 'mixed', scenario: single },
	),
	usual('cart log a day late', (f) => shiftDays(f, 1), /day/i),
	usual(
		'cart log a day early, no tickets',
		(f) => {
			f.noTickets();
			shiftDays(f, -1);
		},
		/day/i,
	),
	usual('cart log a month off, bare', (f) => shiftDays(f, -30), /day/i, { scenario: bare }),
	fewIn(
		'one dump in pounds, noted',
		1,
		true,
		(kg) => kg / POUND_KG,
		() => POUND_KG,
	),
	fewIn(
		'three dumps in pounds, bare',
		3,
		false,
		(kg) => kg / POUND_KG,
		() => POUND_KG,
	),
	fewIn(
		'two dumps in bushels, noted',
		2,
		true,
		(kg, sim) => kg / sim.scenario.crop.bushel_kg,
		(sim) => sim.scenario.crop.bushel_kg,
	),
	usual(
		'weights in hundredweight',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg) => kg / (100 * POUND_KG)));
		},
		/unit/i,
		{ unit_kg: () => 100 * POUND_KG },
	),
	usual(
		'both logs in lb/s from noon',
		(f) => {
			for (const c of ['A', 'B']) f.log(c, (rows) => flows(rows.slice(half(rows)), (kg_s) => kg_s / POUND_KG));
		},
		/unit/i,
	),
	usual(
		'a ticket without its offloads',
		(f) => {
			const load = f.table('tickets.csv').rows[1]!.truck_load;
			f.cart((rows) => rows.filter((r) => isDump(r) || r.truck_load !== load));
		},
		/ticket|truck/i,
	),
	usual(
		'tickets without offloads, straight loads among them',
		(f) => {
			const loads = f.table('tickets.csv').rows.map((r) => r.truck_load);
			f.cart((rows) => rows.filter((r) => isDump(r) || !loads.slice(2).includes(r.truck_load)));
		},
		/ticket|truck/i,
		{ kind: 'irregular' },
	),
	usual('monitor saturates early', (f) => f.log('A', (rows) => saturate(rows, 0.35, 0.2)), /saturat|flow/i),
	usual(
		'monitor saturates, few weights',
		(f) => {
			f.log('A', (rows) => saturate(rows, 0.45, 0.3));
			f.cart((rows) => rows.filter(isDump).filter((_, i) => i % 3 === 0));
		},
		/saturat|flow|not weighed/i,
	),
	usual(
		'names exchanged from noon, no auger',
		(f) => f.cart((rows) => exchange(rows.slice(half(rows)))),
		/exchang|swap|other/i,
		{ scenario: noAuger },
	),
	usual(
		'cart zero 400 kg off from noon',
		(f) => f.cart((rows) => weights(rows, (kg, i, r, n) => (isDump(r) && i > n / 2 ? kg - 400 : kg))),
		/cart|zero/i,
	),
	usual(
		'cart loses a load cell at noon',
		(f) => f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg * 0.75 : kg))),
		/cart/i,
	),
	usual(
		'cart loses 7 % at noon, bare',
		(f) => f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg * 0.93 : kg))),
		/cart/i,
		{ scenario: bare },
	),
	usual(
		'cart loses a load cell at noon, bare',
		(f) => f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg * 0.75 : kg))),
		/cart/i,
		{ scenario: bare },
	),
	...[undefined, bare].map((scenario) =>
		usual(
			`running display, no offloads${scenario ? ', bare' : ''}`,
			(f) => {
				f.noTickets();
				let held_kg = 0;
				f.cart((rows) => {
					weights(rows, (kg, _i, r) => {
						held_kg = isDump(r) ? held_kg + kg : 0;
						return held_kg;
					});
					return rows.filter(isDump);
				});
			},
			/fills up/i,
			scenario ? { scenario } : {},
		),
	),
	usual(
		'saved early, no tickets',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg, _i, r) => (isDump(r) ? kg - 250 : kg)));
		},
		/cart|early|before|offload/i,
	),
	usual(
		'total 8 % too big, few weights',
		(f, sim) => {
			f.noTickets();
			f.cart((rows) => midday(rows, sim, 2, 'each'));
			f.plan((p) => {
				p.total = { wet_kg: Math.round(sim.truth.wet_kg * 1.08), u_pct: 0.2 };
			});
		},
		/total/i,
	),
	usual(
		'a third of the rows lost',
		(f) => {
			f.noTickets();
			f.cart((rows) => rows.filter((_, i) => i % 3 !== 1));
		},
		/not weighed|saved|doubt|fits? almost/i,
		{ scenario: bare },
	),
	usual('silent C (three), mixed', () => undefined, /not weighed|seam/i, { kind: 'three', scenario: good }),
	mistyped('one of six dumps mistyped', 6, { 2: 0.7 }),
	mistyped('two of eight dumps mistyped', 8, { 2: 0.7, 5: 1.4 }),
	mistyped('two of eight dumps mistyped, bare', 8, { 2: 0.7, 5: 1.4 }, bare),
	mistyped('two of all dumps mistyped', 1e9, { 4: 0.6, 9: 1.3 }),
];
