import type { RawBoundary } from '../../formats/index.ts';
import type { Crop } from '../../model/index.ts';
import { CROPS } from '../../units/index.ts';
import { type IntakeOptions, type LogRows, type Question, question } from '../model.ts';
import { cropGiven, cropInName } from '../names/crop-names.ts';
import type { ReadLog } from '../tables/tables.ts';

/** The crop of a field's logs, and why: as answered, as the call says, as a file names it. */
export function cropFor(
	own: readonly ReadLog[],
	given: Record<string, unknown>,
	options: IntakeOptions,
): { crop: Crop; because: string } | null {
	const answered = cropGiven(given.crop);
	if (answered) return { crop: answered, because: 'as answered' };
	const called = cropGiven(options.crop);
	const said = own.map((r) => r.log.log.crop).find((c) => c && c.crop.name !== called?.name);
	if (called) return { crop: called, because: said ? `as the call says, though ${said.because}` : 'as the call says' };
	for (const r of own) if (r.log.log.crop) return r.log.log.crop;
	for (const r of own) {
		const crop = cropInName(r.table.file);
		if (crop) return { crop, because: `the file’s name, ${r.table.file}` };
	}
	return null;
}

/** Asks for the crop; those whose bushels the file's yields are in come first. */
export function cropQuestion(own: readonly ReadLog[], name: string): Question {
	const bushel = own.find((r) => r.log.bushel_kg)?.log.bushel_kg ?? null;
	const like = bushel === null ? [] : CROPS.filter((c) => Math.abs(c.bushel_kg - bushel) < 0.05).map((c) => c.name);
	const rest = CROPS.map((c) => c.name).filter((c) => !like.includes(c));
	return question(own[0]?.table.file ?? null, {
		about: 'crop',
		text: `Which crop was cut on ${name || 'this field'}?${like.length > 0 ? ` Its yields are in bushels of ${Math.round(bushel! / 0.45359237)} lb, as for ${like.join(', ')}.` : ''}`,
		choices: [...like, ...rest],
		blocking: true,
		taken: null,
	});
}

/** Positions of one machine's records on a field, thinned for a picture: alternating longitude and latitude, WGS 84. */
export interface Track {
	combine: string;
	lonlat: Float64Array;
}

/** Number of positions that draw a field: about a header width apart on forty hectares. */
const MOST = 4000;

export function trackOf(combine: string, parts: readonly { log: LogRows; rows: ArrayLike<number> }[]): Track {
	const total = parts.reduce((n, p) => n + p.rows.length, 0);
	const step = Math.max(1, Math.ceil(total / MOST));
	const out: number[] = [];
	for (const { log, rows } of parts) {
		for (let k = 0; k < rows.length; k += step) {
			const i = rows[k]!;
			const [lon, lat] = [log.lon_deg[i]!, log.lat_deg[i]!];
			if (Number.isFinite(lon + lat)) out.push(lon, lat);
		}
	}
	return { combine, lonlat: Float64Array.from(out) };
}

/** The variety that an outline's properties name; null if they name none. */
export function varietyOf({ properties }: RawBoundary): string | null {
	const named = Object.entries(properties).filter(([key]) => /variet|hybrid|cultivar|sorte/i.test(key));
	const said = named.find(([, value]) => value !== null && value !== '');
	return said === undefined ? null : String(said[1]);
}
