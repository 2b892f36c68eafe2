import type { Contours, Result, Run } from '../../model/index.ts';
import { ByteWriter } from '../bytes/byte-writer.ts';
import { perAcre } from './bushels.ts';

/** result.json, with one line per list entry. A number that is not finite becomes null, since JSON has no value for it. */
export function* resultJson(result: Result): Generator<Uint8Array> {
	const writer = new ByteWriter();
	yield* object(writer, result as unknown as Record<string, unknown>);
	writer.code(10);
	yield writer.drain();
}

function* object(writer: ByteWriter, value: Record<string, unknown>): Generator<Uint8Array> {
	writer.text('{');
	let first = true;
	for (const [key, entry] of Object.entries(value)) {
		if (entry === undefined) continue;
		writer.text(`${first ? '' : ','}\n\t${JSON.stringify(key)}: `);
		first = false;
		if (Array.isArray(entry) && entry.length > 0) {
			writer.text('[');
			for (let i = 0; i < entry.length; i++) {
				writer.text(`${i === 0 ? '' : ','}\n\t\t${JSON.stringify(entry[i]) ?? 'null'}`);
				if (writer.full) yield writer.drain();
			}
			writer.text('\n\t]');
		} else writer.text(JSON.stringify(entry) ?? 'null');
		if (writer.full) yield writer.drain();
	}
	writer.text('\n}');
}

/** contours.geojson: bands of corrected yield as polygons. */
export function* contoursGeojson(run: Run, contours: Contours, bushels = false): Generator<Uint8Array> {
	const acre = perAcre(run);
	const writer = new ByteWriter();
	writer.text('{"type":"FeatureCollection","features":[');
	let first = true;
	for (const { geometry, properties } of contours) {
		writer.text(first ? '\n' : ',\n');
		first = false;
		writer.text('{"type":"Feature","geometry":{"type":"MultiPolygon","coordinates":[');
		for (const [p, polygon] of geometry.coordinates.entries()) {
			writer.text(p === 0 ? '[' : ',[');
			for (const [r, ring] of polygon.entries()) {
				writer.text(r === 0 ? '[' : ',[');
				for (const [k, position] of ring.entries()) {
					writer.text(k === 0 ? '[' : ',[');
					writer.fixed(position[0]!, 7);
					writer.code(44);
					writer.fixed(position[1]!, 7);
					writer.code(93);
				}
				writer.code(93);
				if (writer.full) yield writer.drain();
			}
			writer.code(93);
		}
		writer.text(
			`]},"properties":${JSON.stringify(bushels ? { ...properties, ...inBushels(properties, acre) } : properties)}}`,
		);
	}
	writer.text('\n]}\n');
	yield writer.drain();
}

const inBushels = (zone: { from_kg_ha: number; to_kg_ha: number }, acre: number) => ({
	from_bu_ac: Number((zone.from_kg_ha * acre).toFixed(2)),
	to_bu_ac: Number((zone.to_kg_ha * acre).toFixed(2)),
});
