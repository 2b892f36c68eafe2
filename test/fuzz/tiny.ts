/** The smallest field that has everything: two combines, six short passes, dumps, offloads, tickets, a boundary. */
export function tinyField(): Record<string, string> {
	const start_s = Date.UTC(2026, 9, 3, 15) / 1000;
	const perLat = 1 / 111_100;
	const perLon = perLat / Math.cos((42 * Math.PI) / 180);
	const iso = (t: number) => new Date(t * 1000).toISOString().replace('.000', '');
	const head = 'time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct,header_down';
	const log = (which: number) => {
		const rows = [head];
		let t = start_s;
		for (let pass = 0; pass < 3; pass++) {
			const x = 8 * (2 * pass + which);
			for (let s = 0; s < 12; s++, t += 4) {
				const y = pass % 2 === 0 ? 8 * s : 88 - 8 * s;
				const flow = s < 3 ? 4 * s : 10 + ((s * 7 + pass) % 5) / 4;
				const place = [(42 + y * perLat).toFixed(7), (-93 + x * perLon).toFixed(7)];
				rows.push([iso(t), ...place, flow.toFixed(2), '4', '8.0', '8.0', '18.2', '1'].join(','));
			}
			for (let s = 0; s < 2; s++, t += 4) {
				const place = [(42 + (pass % 2 === 0 ? 92 : -4) * perLat).toFixed(7), (-93 + (x + 6 * s) * perLon).toFixed(7)];
				rows.push([iso(t), ...place, '2.00', '4', '4.0', '8.0', '18.2', '0'].join(','));
			}
		}
		return `${rows.join('\n')}\n`;
	};
	const ring = [
		[-8, -8],
		[56, -8],
		[56, 100],
		[-8, 100],
		[-8, -8],
	].map(([x, y]) => [-93 + (x as number) * perLon, 42 + (y as number) * perLat]);
	return {
		'field.json': JSON.stringify(
			{
				name: 'Nib',
				season: 2026,
				client: 'Ash',
				farm: 'Elm',
				crop: 'corn',
				timeZone: 'America/Chicago',
				boundary: 'boundary.geojson',
				logs: [
					{ file: 'a.csv', combine: 'A' },
					{ file: 'b.csv', combine: 'B', columns: { flow: { column: 'flow_kg_s', unit: 'kg/s' } } },
				],
				cartLog: { file: 'cart.csv' },
				tickets: { file: 'tickets.csv' },
				combines: { A: { swath_m: 8, tank_kg: 4000 }, B: { row_m: 0.762, header_ahead_m: 3 } },
				scales: { cart: { limit_pct: 1, size_kg: 20000 } },
				events: [{ time: iso(start_s + 60), combine: 'A', kind: 'calibrated' }],
				pins: {
					clock_offset_s: 0,
					dumps: { D4: { status: 'used' } },
					factors: { B: { form: 'constant' } },
					lags: { A: 4 },
				},
				flags: { standing: 0.2 },
				total: { wet_kg: 3000, u_pct: 5 },
			},
			null,
			1,
		),
		'a.csv': log(0),
		'b.csv': log(1),
		'cart.csv': [
			'id,time,event,combine,weight_kg,emptied,truck_load,moisture_pct,note',
			`D1,${iso(start_s + 54)},dump,A,520,yes,T1,18.1,`,
			`D2,${iso(start_s + 56)},dump,B,515,yes,T1,18.1,"wet, a bit"`,
			`D3,${iso(start_s + 110)},dump,A,530,yes,T1,,`,
			`D4,${iso(start_s + 112)},dump,A+B,530,,T1,,`,
			`O1,${iso(start_s + 130)},offload,,2095,,T1,,`,
			`D5,${iso(start_s + 166)},dump,A,525,yes,T2,,`,
			`D6,${iso(start_s + 168)},dump,,520,yes,T2,,`,
			`O2,${iso(start_s + 200)},offload,,1045,,T2,,`,
			'',
		].join('\n'),
		'tickets.csv': `ticket,time,truck_load,net_kg,moisture_pct\nK1,${iso(start_s + 4000)},T1,2110,18.4\nK2,${iso(start_s + 9000)},T2,1052,18.3\n`,
		'boundary.geojson': JSON.stringify({ type: 'Polygon', coordinates: [ring] }),
	};
}
