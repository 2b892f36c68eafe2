import {
	bare,
	type Files,
	flows,
	good,
	half,
	isDump,
	noAuger,
	POUND_KG,
	type Situation,
	usual,
	weights,
} from './situations.ts';

const later = (time: string, s: number): string =>
	time === ''
		? ''
		: time.endsWith('Z') || /[+-]\d\d:\d\d$/.test(time)
			? new Date(Date.parse(time) + 1000 * s).toISOString()
			: new Date(Date.parse(`${time}Z`) + 1000 * s).toISOString().slice(0, 19);

const SHORT_TON_KG = 2000 * POUND_KG;

/** What stands in the cart after each dump, as its display shows it. */
function running(rows: Record<string, string>[], from = 0, to = rows.length): void {
	let level = 0;
	rows.forEach((r, i) => {
		if (!isDump(r)) {
			level = Math.max(0, level - Number(r.weight_kg));
			return;
		}
		level += Number(r.weight_kg);
		if (i >= from && i < to) r.weight_kg = String(level);
	});
}

/** The clock of one log falls back an hour at noon. */
function fallsBack(f: Files): void {
	f.log('B', (rows) => {
		for (const r of rows.slice(half(rows))) r.time = later(r.time!, -3600);
	});
}

/** Dumps from the nth of a combine on: two neighbors in one row. */
function twoInOne(rows: Record<string, string>[], same: boolean, at: number[]): Record<string, string>[] {
	const dumps = rows.filter(isDump);
	const gone = new Set<Record<string, string>>();
	for (const start of at) {
		for (let i = start; i + 1 < dumps.length; i++) {
			const [a, b] = [dumps[i]!, dumps[i + 1]!];
			if (gone.has(a) || gone.has(b) || (a.combine === b.combine) !== same) continue;
			b.weight_kg = String(Number(a.weight_kg) + Number(b.weight_kg));
			gone.add(a);
			break;
		}
	}
	return rows.filter((r) => !gone.has(r));
}

const firstHour = (f: Files): void => {
	f.noTickets();
	f.cart((rows) => {
		const t0 = Date.parse(rows[0]!.time!);
		return rows.filter((r) => Date.parse(r.time!) - t0 <= 3600_000 && isDump(r));
	});
};

/** One monitor reads so many times as much from noon on. */
function steps(f: Files, by: number): void {
	f.log('A', (rows) => {
		for (const r of rows.slice(half(rows))) r.flow_kg_s = (Number(r.flow_kg_s) * by).toFixed(3);
	});
}

/** A combine's log lacks the rows between these shares of it. */
function lacks(f: Files, combine: string, from: number, to: number): void {
	f.log(combine, (rows) => rows.filter((_, i) => i < from * rows.length || i > to * rows.length));
}

/** Times of the cart log, rounded. */
function roundTimes(rows: Record<string, string>[], to_ms: number): void {
	for (const r of rows)
		r.time = new Date(Math.round(Date.parse(`${r.time}Z`) / to_ms) * to_ms).toISOString().slice(0, 19);
}

/** Every third row of the cart log is lost. */
const thirdLost = (rows: Record<string, string>[]): Record<string, string>[] => rows.filter((_, i) => i % 3 !== 1);

const withoutC = (f: Files): void => {
	f.texts.delete('combine-C.csv');
	f.plan((p) => {
		p.logs = p.logs.filter((l: { combine: string }) => l.combine !== 'C');
		delete p.combines.C;
	});
};

/** More situations of the same kind: what goes wrong in a day's weighing and in an office, two or three seeds each. */
export const MISHAPS: Situation[] = [
	usual('only the first hour weighed, bare', firstHour, /not weighed|after/i, { scenario: bare }),
	usual('only the first hour weighed, drift', firstHour, /not weighed|after|drift|change/i, { kind: 'trend' }),
	usual(
		'short tons from noon',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg / SHORT_TON_KG : kg)));
		},
		/unit/i,
	),
	usual(
		'pounds from noon, tickets kept',
		(f) => {
			f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg / POUND_KG : kg)));
		},
		/unit/i,
	),
	usual(
		'pounds from noon, bare',
		(f) => {
			f.noTickets();
			f.cart((rows) => weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg / POUND_KG : kg)));
		},
		/unit/i,
		{ scenario: bare },
	),
	usual(
		'two dumps of one in one row, twice',
		(f) => f.cart((rows) => twoInOne(rows, true, [4, 12])),
		/not used|two|more than/i,
	),
	usual(
		'dumps of both in one row, twice',
		(f) => f.cart((rows) => twoInOne(rows, false, [4, 12])),
		/not used|two|both/i,
	),
	usual(
		'dumps of both in one row, twice, bare',
		(f) => f.cart((rows) => twoInOne(rows, false, [4, 12])),
		/not used|two|both/i,
		{
			scenario: (s) => {
				bare(s);
				s.notes.combine = true;
			},
		},
	),
	usual(
		'truck tare typed as a dump, bare',
		(f) =>
			f.cart((rows) => {
				const at = rows.findIndex((r) => !isDump(r));
				const tare = { ...rows[at]!, id: 'D99', event: 'dump', weight_kg: '9820', truck_load: '' };
				return [...rows.slice(0, at + 1), tare, ...rows.slice(at + 1)];
			}),
		/not used|D99/i,
		{ scenario: bare },
	),
	usual(
		'digits transposed twice',
		(f) =>
			f.cart((rows) => {
				const swap = (w: string): string =>
					w[0] === w[1] ? w[0]! + w[2]! + w[1]! + w.slice(3) : w[1]! + w[0]! + w.slice(2);
				const dumps = rows.filter(isDump);
				for (const i of [3, dumps.length - 3]) dumps[i]!.weight_kg = swap(dumps[i]!.weight_kg!);
			}),
		/not used|wrong/i,
	),
	usual(
		'weight filled down three rows',
		(f) =>
			f.cart((rows) => {
				const dumps = rows.filter(isDump);
				for (const i of [6, 7, 8]) dumps[i]!.weight_kg = dumps[5]!.weight_kg!;
			}),
		/same|not used/i,
	),
	usual('log B has a hole', (f) => lacks(f, 'B', 0.4, 0.6), /not used|gap|log/i, { asSimulated: true }),
	usual('log A lacks a third, bare', (f) => lacks(f, 'A', 0.4, 0.73), /no log here holds/, {
		asSimulated: true,
		scenario: bare,
	}),
	usual("one log's clock falls back at noon", fallsBack, /clock|time/i),
	usual("one log's clock falls back at noon, bare", fallsBack, /clock|time/i, { scenario: bare }),
	usual(
		"cart's clock falls back at noon",
		(f) =>
			f.cart((rows) => {
				for (const r of rows.slice(half(rows))) r.time = later(r.time!, -3600);
			}),
		/clock/i,
	),
	usual(
		'cart hours without pm',
		(f) =>
			f.cart((rows) => {
				for (const r of rows) if (Number(r.time!.slice(11, 13)) > 12) r.time = later(r.time!, -12 * 3600);
			}),
		/clock/i,
	),
	usual(
		'exports overlap, 20 s apart',
		(f) =>
			f.log('A', (rows) => {
				const n = rows.length;
				const second = rows.slice(Math.floor(0.5 * n)).map((r) => ({ ...r, time: later(r.time!, 20) }));
				return [...rows.slice(0, Math.floor(0.6 * n)), ...second];
			}),
		/twice|overlap|repeat|same/i,
	),
	usual('running weights for net', (f) => f.cart((rows) => running(rows)), /running|gross|net/i),
	usual(
		'running weights for net, bare, no tickets',
		(f) => {
			f.noTickets();
			f.cart((rows) => running(rows));
		},
		/running|gross|net/i,
		{ scenario: bare },
	),
	usual(
		'running weights for net from noon',
		(f) => f.cart((rows) => running(rows, half(rows))),
		/running|gross|net|not used/i,
	),
	usual(
		'gross typed as net',
		(f) =>
			f.edit('tickets.csv', (rows) => {
				for (const r of rows) r.net_kg = String(Number(r.net_kg) + 14_200);
			}),
		/ticket/i,
	),
	usual(
		"a neighbor's tickets under the same load",
		(f) =>
			f.edit('tickets.csv', (rows) => [
				...rows,
				{ ...rows[0]!, ticket: '90001', net_kg: String(Math.round(Number(rows[0]!.net_kg) * 0.83)) },
			]),
		/ticket/i,
	),
	usual('a third combine without a log', withoutC, /C\b/, { kind: 'three' }),
	usual('a third combine without a log, bare', withoutC, /not used|another|set aside/i, {
		kind: 'three',
		scenario: bare,
	}),
	usual(
		'log A begins late, bare',
		(f) => f.log('A', (rows) => rows.slice(Math.floor(0.3 * rows.length))),
		/log|not used/i,
		{ scenario: bare, asSimulated: true },
	),
	usual(
		'guessed to the half ton',
		(f) => {
			f.noTickets(5);
			f.cart((rows) => weights(rows, (kg) => 1000 * Math.round(kg / 1000)));
		},
		/round/i,
	),
	usual(
		'kilograms under weight_lb',
		(f) => {
			f.noTickets();
			f.cart((rows, head) => {
				head.splice(head.indexOf('weight_kg'), 1, 'weight_lb');
				for (const r of rows) r.weight_lb = r.weight_kg!;
			});
		},
		/unit/i,
		{ unit_kg: () => 1 / POUND_KG },
	),
	usual(
		'row order lost, only days',
		(f) =>
			f.cart((rows) => {
				for (const r of rows) r.time = r.time!.slice(0, 10);
				return [...rows].sort((a, b) => a.combine!.localeCompare(b.combine!));
			}),
		/order/i,
	),
	usual(
		'log A again, an hour off',
		(f) => {
			f.texts.set('again.csv', f.texts.get('combine-A.csv')!);
			f.edit('again.csv', (rows) => {
				for (const r of rows) r.time = later(r.time!, 3600);
			});
			f.plan((p) => p.logs.push({ file: 'again.csv', combine: 'A' }));
		},
		/another clock/i,
		{ asSimulated: true },
	),
	usual('running weights, some loads of one dump', (f) => f.cart((rows) => running(rows)), /was in the cart/i, {
		scenario: (s) => {
			good(s);
			s.cart.truck_kg = 9000;
		},
	}),
	usual('trucks smaller than a cart load', () => undefined, /cart|truck/i, {
		scenario: (s) => {
			good(s);
			s.cart.truck_kg = 9000;
		},
	}),
	usual('one monitor reads 10 % more from noon, bare', (f) => steps(f, 1.1), /chang/i, { scenario: bare }),
	usual('one monitor reads 10 % less from noon, bare', (f) => steps(f, 0.9), /chang/i, { scenario: bare }),
	usual('one monitor reads 6 % more from noon, bare', (f) => steps(f, 1.06), /chang/i, { scenario: bare }),
	usual(
		'one monitor reads 8 % less from noon, every fifth dump not saved, bare',
		(f) => {
			steps(f, 0.92);
			f.cart((rows) => {
				let dumps = 0;
				return rows.filter((r) => !isDump(r) || ++dumps % 5 !== 0);
			});
		},
		/chang/i,
		{ scenario: bare },
	),
	usual(
		'one monitor reads 10 % more from noon, every third dump',
		(f) => {
			steps(f, 1.1);
			f.noTickets();
			f.cart((rows) => rows.filter((r, i) => isDump(r) && i % 3 === 0));
		},
		/chang/i,
	),
	usual(
		"one log's clock an hour off, cart zero 400 kg off",
		(f) => {
			f.log('B', (rows) => {
				for (const r of rows) r.time = later(r.time!, 3600);
			});
			f.cart((rows) => weights(rows, (kg, _i, r) => (isDump(r) ? kg - 400 : kg)));
		},
		/clock.*(zero|saved)/i,
	),
	usual(
		'one log in lb/s, a third of the rows lost, bare',
		(f) => {
			f.noTickets();
			f.log('A', (rows) => flows(rows, (kg_s) => kg_s / POUND_KG));
			f.cart(thirdLost);
		},
		/unit/i,
		{ scenario: bare },
	),
	usual(
		'names exchanged from noon, a third of the rows lost',
		(f) => {
			f.noTickets();
			f.cart((rows) => {
				for (const r of rows.slice(half(rows))) r.combine = r.combine === 'A' ? 'B' : r.combine === 'B' ? 'A' : '';
				return thirdLost(rows);
			});
		},
		/exchang/i,
	),
	usual(
		'cart loses 7 % at noon, its clock an hour off',
		(f) =>
			f.cart((rows) => {
				weights(rows, (kg, i, _r, n) => (i > n / 2 ? kg * 0.93 : kg));
				for (const r of rows) r.time = later(r.time!, 3600);
			}),
		/cart/i,
	),
	usual(
		'cart loses a load cell among nine bare dumps',
		(f) => {
			f.noTickets();
			f.cart((rows) => {
				const first = rows.filter(isDump).slice(0, 9);
				weights(first, (kg, i) => (i > 4 ? kg * 0.75 : kg));
				return first;
			});
		},
		/cart/i,
		{ scenario: bare },
	),
	usual(
		'a third combine without a log, eight bare dumps',
		(f) => {
			f.noTickets();
			withoutC(f);
			f.cart((rows) => rows.filter(isDump).slice(6, 14));
		},
		/not used|another|log/i,
		{ kind: 'three', scenario: bare },
	),
	usual(
		'all dumps under one name, no auger',
		(f) =>
			f.cart((rows) => {
				for (const r of rows) if (r.combine !== '') r.combine = 'A';
			}),
		/entered for|not believed/i,
		{ scenario: noAuger },
	),
	usual(
		'the last dumps all under one name, no auger',
		(f) =>
			f.cart((rows) => {
				for (const r of rows.slice(Math.floor(0.6 * rows.length))) if (r.combine === 'B') r.combine = 'A';
			}),
		/entered for|not used/i,
		{ scenario: noAuger },
	),
	usual(
		'total in pounds',
		(f, sim) =>
			f.plan((p) => {
				p.total = { wet_kg: Math.round(sim.truth.wet_kg / POUND_KG), u_pct: 0.2 };
			}),
		/total/i,
	),
	usual(
		'only the day and the order of rows, nothing else noted',
		(f) =>
			f.cart((rows) => {
				for (const r of rows) r.time = r.time!.slice(0, 10);
			}),
		/more than one way|almost as well/i,
		{ scenario: bare },
	),
	...[false, true].map((tickets) =>
		usual(
			`every dump weighs 5 % light, offloads do not${tickets ? '' : ', no tickets'}`,
			(f) => {
				if (!tickets) f.noTickets();
				f.cart((rows) => weights(rows, (kg, _i, r) => (isDump(r) ? 0.95 * kg : kg)));
			},
			/dumps and offloads/,
		),
	),
	...[false, true].map((tickets) =>
		usual(
			`two carts by turns, the second 6 % light${tickets ? '' : ', no tickets'}`,
			(f) => {
				if (!tickets) f.noTickets();
				f.cart((rows) => {
					let load = 0;
					weights(rows, (kg, _i, r) => ((isDump(r) ? load : load++) % 2 === 0 ? kg : kg * 0.94));
				});
			},
			/two carts/,
		),
	),
	usual(
		'two carts by turns, the second 4 % light, no offloads',
		(f) => {
			f.noTickets();
			f.cart((rows) => {
				let load = 0;
				weights(rows, (kg, _i, r) => ((isDump(r) ? load : load++) % 2 === 0 ? kg : kg * 0.96));
				return rows.filter(isDump);
			});
		},
		/two carts/,
	),
	...(['weight_kg', 'time'] as const).flatMap((column) =>
		[false, true].map((nothing) =>
			usual(
				`${column === 'time' ? 'times' : 'weights'} one row down${nothing ? ', bare' : ''}`,
				(f) =>
					f.cart((rows) => {
						const dumps = rows.filter(isDump);
						for (let i = dumps.length - 1; i > 0; i--) dumps[i]![column] = dumps[i - 1]![column]!;
					}),
				/row/,
				nothing ? { scenario: bare } : {},
			),
		),
	),
	usual(
		'weighed on the move, 2 % light',
		(f) => f.cart((rows) => weights(rows, (kg, i, r) => (isDump(r) ? kg * (0.98 + 0.012 * Math.sin(7 * i)) : kg))),
		/dumps and offloads/,
	),
	...(
		[
			['to the quarter hour', (rows) => roundTimes(rows, 15 * 60_000)],
			[
				'are when the truck was filled',
				(rows) => {
					for (let i = rows.length - 1; i > 0; i--) if (isDump(rows[i - 1]!)) rows[i - 1]!.time = rows[i]!.time!;
				},
			],
		] as [string, (rows: Record<string, string>[]) => void][]
	).flatMap(([how, change]) =>
		[false, true].map((nothing) =>
			usual(
				`times ${how}${nothing ? ', bare' : ''}`,
				(f) => f.cart(change),
				/times in the cart log are set aside/,
				nothing ? { scenario: bare } : {},
			),
		),
	),
	...[false, true].map((nothing) =>
		usual(
			`newest row first, only days${nothing ? ', bare' : ''}`,
			(f) => {
				f.noTickets();
				f.cart((rows) => {
					for (const r of rows) r.time = r.time!.slice(0, 10);
					return rows.filter(isDump).reverse();
				});
			},
			/newest row/,
			nothing ? { scenario: bare } : {},
		),
	),
];
