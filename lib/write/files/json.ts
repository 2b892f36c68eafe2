import type { Result, Run } from '../../model/index.ts';
import { Pen } from '../bytes/byte-writer.ts';
import { perAcre } from './bushels.ts';

/** result.json, entries of lists a line each. What is no finite number becomes null: JSON has no other word for it. */
export function* resultJson(result: Result): Generator<Uint8Array> {
	const pen = new Pen();
	yield* object(pen, result as unknown as Record<string, unknown>);
	pen.code(10);
	yield pen.drain();
}

function* object(pen: Pen, value: Record<string, unknown>): Generator<Uint8Array> {
	pen.text('{');
	let first = true;
	for (const [key, entry] of Object.entries(value)) {
		if (entry === undefined) continue;
		pen.text(`${first ? '' : ','}\n\t${JSON.stringify(key)}: `);
		first = false;
		if (Array.isArray(entry) && entry.length > 0) {
			pen.text('[');
			for (let i = 0; i < entry.length; i++) {
				pen.text(`${i === 0 ? '' : ','}\n\t\t${JSON.stringify(entry[i]) ?? 'null'}`);
				if (pen.full) yield pen.drain();
			}
			pen.text('\n\t]');
		} else pen.text(JSON.stringify(entry) ?? 'null');
		if (pen.full) yield pen.drain();
	}
	pen.text('\n}');
}

/** contours.geojson: bands of corrected yield as polygons. */
export function* contoursGeojson(run: Run, bushels = false): Generator<Uint8Array> {
	const acre = perAcre(run);
	const pen = new Pen();
	pen.text('{"type":"FeatureCollection","features":[');
	let first = true;
	for (const { geometry, properties } of run.surface.contours) {
		pen.text(first ? '\n' : ',\n');
		first = false;
		pen.text('{"type":"Feature","geometry":{"type":"MultiPolygon","coordinates":[');
		for (const [p, polygon] of geometry.coordinates.entries()) {
			pen.text(p === 0 ? '[' : ',[');
			for (const [r, ring] of polygon.entries()) {
				pen.text(r === 0 ? '[' : ',[');
				for (const [k, position] of ring.entries()) {
					pen.text(k === 0 ? '[' : ',[');
					pen.fixed(position[0] as number, 7);
					pen.code(44);
					pen.fixed(position[1] as number, 7);
					pen.code(93);
				}
				pen.code(93);
				if (pen.full) yield pen.drain();
			}
			pen.code(93);
		}
		pen.text(
			`]},"properties":${JSON.stringify(bushels ? { ...properties, ...inBushels(properties, acre) } : properties)}}`,
		);
	}
	pen.text('\n]}\n');
	yield pen.drain();
}

const inBushels = (zone: { from_kg_ha: number; to_kg_ha: number }, acre: number) => ({
	from_bu_ac: Number((zone.from_kg_ha * acre).toFixed(2)),
	to_bu_ac: Number((zone.to_kg_ha * acre).toFixed(2)),
});
