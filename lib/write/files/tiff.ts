import type { Run, Surface } from '../../model/index.ts';
import { perAcre } from './bushels.ts';

/** Most cells that memory and viewers can handle; a larger grid is written with coarser cells. */
const MOST_CELLS = 4_000_000;
const NO_DATA = -9999;

/** What GDAL shows for each band: name and unit. */
const metadataOf = (bands: readonly (readonly [string, string])[]): string =>
	'<GDALMetadata>' +
	bands
		.map(
			([name, unit], band) =>
				`<Item name="DESCRIPTION" sample="${band}" role="description">${name}</Item>` +
				`<Item name="UNITTYPE" sample="${band}" role="unittype">${unit}</Item>`,
		)
		.join('') +
	'</GDALMetadata>\n';

const BANDS = [
	['yield', 'kg/ha'],
	['standard error', 'kg/ha'],
] as const;
const IN_BUSHELS = [
	['yield', 'bu/ac'],
	['standard error', 'bu/ac'],
] as const;

const ARTIST = 315;
const SAMPLES_META = 42112;
/** The library reserves this much space before the image, and loses what does not fit. */
const HEAD = 1000;

/**
 * map.tif: corrected yield (band 1) and its standard error (band 2), kg/ha at market moisture, float32, in the field's
 * UTM zone; cells without support are −9999.
 *
 * @param bushels - add the same in bushels per acre as bands 3 and 4
 */
export async function mapTif(run: Run, bushels = false): Promise<Uint8Array> {
	const { writeArrayBuffer } = await import('geotiff');
	const grid = coarse(run.surface);
	const { columns, rows, cell_m, west_m, north_m } = grid;
	const bands = bushels ? [...BANDS, ...IN_BUSHELS] : BANDS;
	const acre = perAcre(run);
	const n = bands.length;
	const values = new Float32Array(n * columns * rows);
	for (let i = 0; i < columns * rows; i++) {
		const y = grid.yield_kg_ha[i]!;
		const se = Number.isFinite(y) ? grid.se_kg_ha[i]! : Number.NaN;
		for (let b = 0; b < n; b++) {
			const v = (b % 2 === 0 ? y : se) * (b < 2 ? 1 : acre);
			values[n * i + b] = Number.isFinite(v) ? v : NO_DATA;
		}
	}
	const metadata = {
		width: columns,
		height: rows,
		GTModelTypeGeoKey: 1,
		GTRasterTypeGeoKey: 1,
		ProjectedCSTypeGeoKey: run.surface.epsg,
		ModelPixelScale: [cell_m, cell_m, 0],
		ModelTiepoint: [0, 0, 0, west_m, north_m, 0],
		// The extra bands are not colors; without this entry the library writes one that readers complain about.
		ExtraSamples: bands.slice(1).map(() => 0),
		GDAL_NODATA: String(NO_DATA),
		Software: 'steelyard',
		Artist: metadataOf(bands),
	};
	const bytes = new Uint8Array(writeArrayBuffer(values, metadata));
	moveMetadata(bytes);
	return bytes;
}

/**
 * The library has no type for GDAL's metadata tag, so the text was written as the artist's name. Gives it its own tag
 * and sorts the tags again, as TIFF requires (TIFF 6.0, section 2).
 */
function moveMetadata(bytes: Uint8Array): void {
	const view = new DataView(bytes.buffer, bytes.byteOffset);
	const at = view.getUint32(4) + 2;
	const count = view.getUint16(at - 2);
	const entries = Array.from({ length: count }, (_, k) => bytes.slice(at + 12 * k, at + 12 * k + 12));
	const tag = (entry: Uint8Array) => (entry[0]! << 8) | entry[1]!;
	for (const entry of entries) {
		if (tag(entry) === ARTIST) entry.set([SAMPLES_META >> 8, SAMPLES_META & 255]);
	}
	entries.sort((a, b) => tag(a) - tag(b));
	for (const [k, entry] of entries.entries()) bytes.set(entry, at + 12 * k);
	const ends = entries.map((entry) => {
		const v = new DataView(entry.buffer, entry.byteOffset);
		const size = v.getUint32(4) * [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8][v.getUint16(2)]!;
		return size > 4 ? v.getUint32(8) + size : 0;
	});
	if (Math.max(...ends) > HEAD) throw new Error('the tags of map.tif do not fit before the image');
}

type Grid = Pick<Surface, 'columns' | 'rows' | 'cell_m' | 'west_m' | 'north_m' | 'yield_kg_ha' | 'se_kg_ha'>;

/** The surface itself, or the means of blocks of its cells if it has too many; always at least one cell. */
function coarse(surface: Surface): Grid {
	if (surface.columns * surface.rows === 0) {
		const none = Float32Array.of(Number.NaN);
		return { ...surface, columns: 1, rows: 1, yield_kg_ha: none, se_kg_ha: none };
	}
	let k = 1;
	while (Math.ceil(surface.columns / k) * Math.ceil(surface.rows / k) > MOST_CELLS) k++;
	if (k === 1) return surface;
	const columns = Math.ceil(surface.columns / k);
	const rows = Math.ceil(surface.rows / k);
	const sum = new Float64Array(columns * rows);
	const squares = new Float64Array(columns * rows);
	const count = new Uint32Array(columns * rows);
	for (let r = 0; r < surface.rows; r++) {
		for (let c = 0; c < surface.columns; c++) {
			const y = surface.yield_kg_ha[r * surface.columns + c]!;
			if (!Number.isFinite(y)) continue;
			const at = Math.floor(r / k) * columns + Math.floor(c / k);
			sum[at] = sum[at]! + y;
			// Errors of neighboring cells are correlated: the mean's error is taken to be as large as theirs.
			squares[at] = squares[at]! + surface.se_kg_ha[r * surface.columns + c]! ** 2;
			count[at] = count[at]! + 1;
		}
	}
	return {
		...surface,
		columns,
		rows,
		cell_m: surface.cell_m * k,
		yield_kg_ha: Float32Array.from(sum, (s, i) => s / count[i]!),
		se_kg_ha: Float32Array.from(squares, (s, i) => Math.sqrt(s / count[i]!)),
	};
}
