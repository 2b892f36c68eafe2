/** A small invented field: passes up and down, what one or two combines would log of it. All numbers are made up. */
import { seeded } from '../../lib/stats/random.ts';

export interface Row {
	/** Seconds since 1970, UTC. */
	time: number;
	lat: number;
	lon: number;
	/** Meters in the plane it was laid out in. */
	x: number;
	y: number;
	flow: number;
	interval: number;
	distance: number;
	swath: number;
	moisture: number;
	speed: number;
	heading: number;
	elevation: number;
	header: 0 | 1;
	combine: string;
}

export interface FieldOptions {
	/** Start of the log, ISO 8601. */
	start?: string;
	lat?: number;
	lon?: number;
	passes?: number;
	/** Records a pass. */
	rows?: number;
	swath?: number;
	speed?: number;
	interval?: number;
	/** Yield, kg/ha. */
	yield?: number;
	combine?: string;
	/** Meters east of the corner where the first pass begins. */
	east?: number;
	seed?: number;
}

const METRES_PER_DEGREE = 111_200;

/** Rows of one combine in order of time. */
export function cut(options: FieldOptions = {}): Row[] {
	const {
		start = '2026-10-08T18:05:00Z',
		lat = 44.1,
		lon = -93.4,
		passes = 6,
		rows = 60,
		swath = 9.144,
		speed = 2.1,
		interval = 1,
		combine = 'A',
		east = 0,
		seed = 1,
	} = options;
	const generator = seeded(seed);
	const random = () => generator.uniform();
	const out: Row[] = [];
	let time = Date.parse(start) / 1000;
	const east_deg = METRES_PER_DEGREE * Math.cos((lat * Math.PI) / 180);
	const step = speed * interval;
	const add = (x: number, y: number, heading: number, header: 0 | 1, distance: number) => {
		time += interval;
		const area = header === 1 ? distance * swath : 0;
		const kg_ha = (options.yield ?? 9000) * (1 + 0.15 * Math.sin(x / 40) + 0.1 * (random() - 0.5));
		out.push({
			time,
			x,
			y,
			lat: lat + y / METRES_PER_DEGREE,
			lon: lon + x / east_deg,
			flow: header === 1 ? (kg_ha * area) / 10_000 / interval : 0,
			interval,
			distance,
			swath,
			moisture: 17 + 2 * random(),
			speed: distance / interval,
			heading,
			elevation: 300 + y / 50,
			header,
			combine,
		});
	};
	for (let p = 0; p < passes; p++) {
		const up = p % 2 === 0;
		const x = east + p * swath;
		for (let r = 0; r < rows; r++) {
			const d = step * (1 + 0.1 * (random() - 0.5));
			add(x + 0.1 * (random() - 0.5), (up ? r : rows - 1 - r) * step, up ? 0 : 180, 1, d);
		}
		if (p + 1 < passes) {
			for (let t = 1; t <= 4; t++) add(x + (swath * t) / 5, up ? rows * step : -step, 90, 0, swath / 5);
		}
	}
	return out;
}

export const massOf = (rows: readonly Row[]): number => rows.reduce((s, r) => s + r.flow * r.interval, 0);
