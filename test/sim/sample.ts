import { type Sim, simulate } from './index.ts';

/** The sample field's folder, under sample-fields. */
export const SAMPLE = 'saltlick-bottom';

/**
 * The draw behind the sample field: two combines over 20 ha of corn, a cart whose clock runs behind, one weight read
 * before the cart stood still, tickets of the first four trucks. The folder under sample-fields holds its files.
 */
export function sampleField(): Sim {
	return simulate({
		seed: 2026,
		kind: 'wrong-weight',
		overrides: (s) => {
			s.names = { field: 'Saltlick Bottom', client: 'Odell & Marsh', farm: 'Wrenfield' };
			s.crop = { name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5, mean_kg_ha: 11_800 };
			s.place = { lon: -93.214, lat: 42.118, timeZone: 'America/Chicago' };
			s.start = { day: '2026-10-14', second: 10.4 * 3600 };
			const slant = 0.09;
			s.ring = [
				[0, 0],
				[540, 0],
				[540, 230],
				[430, 372],
				[0, 372],
			].map(([x, y]) => [
				x! * Math.cos(slant) - y! * Math.sin(slant),
				x! * Math.sin(slant) + y! * Math.cos(slant),
			]) as unknown as typeof s.ring;
			s.direction_rad = slant;
			s.headlandRounds = 2;
			s.sharing = 'blocks';
			s.blockPasses = 6;
			s.moisture = { mean_pct: 18.6, sd_pct: 0.5, drying_pct_h: -0.3 };
			const [heron, marten] = [s.combines[0]!, s.combines[1]!];
			Object.assign(heron, { name: 'Heron', factor: 0.948, moistureOffset_pct: 0.5, tank_kg: 9800, speed_m_s: 1.85 });
			Object.assign(marten, {
				name: 'Marten',
				factor: 1.041,
				moistureOffset_pct: -0.3,
				tank_kg: 8700,
				speed_m_s: 1.75,
			});
			for (const c of s.combines) Object.assign(c, { width_m: 9.144, lanes: 12, row_m: 0.762 });
			s.cart.clockOffset_s = 143;
			s.cart.ratio = 1.011;
			s.cart.certified_rel = 0;
			s.cart.size_kg = 27_000;
			s.cart.limit_pct = 2;
			Object.assign(s.log, { header: true, auger: true, speed: true, heading: false, local: true, oneFile: false });
			s.log.decimals = 8;
			s.cart.delay_s = [5, 25];
			s.notes.sizeTold = true;
		},
	});
}
