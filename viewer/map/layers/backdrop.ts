/** The user's own background: a PMTiles file of images, or one aerial picture stretched over the field. */
import { signal } from '@preact/signals';
import type * as maplibre from 'maplibre-gl';

export type Backdrop = { kind: 'tiles'; file: File } | { kind: 'picture'; bitmap: ImageBitmap };
export const backdrop = signal<Backdrop | null>(null);

export async function takeBackdrop(files: File[]): Promise<void> {
	const tiles = files.find((f) => /\.pmtiles$/i.test(f.name));
	if (tiles) backdrop.value = { kind: 'tiles', file: tiles };
	else if (files[0]) backdrop.value = { kind: 'picture', bitmap: await createImageBitmap(files[0]) };
}

/**
 * Puts the backdrop under everything else. A picture without coordinates is stretched over the field's bounds, north up;
 * it is drawn through a canvas, since the page's policy allows no image addresses but its own.
 */
export async function addBackdrop(
	map: maplibre.Map,
	library: typeof maplibre,
	bounds: [number, number, number, number],
): Promise<void> {
	const now = backdrop.value;
	if (map.getLayer('backdrop')) map.removeLayer('backdrop');
	if (map.getSource('backdrop')) map.removeSource('backdrop');
	if (!now) return;
	const first = map.getStyle().layers.find((l) => l.id !== 'paper')?.id;
	if (now.kind === 'picture') {
		const [w, s, e, n] = bounds;
		const canvas = document.createElement('canvas');
		canvas.width = now.bitmap.width;
		canvas.height = now.bitmap.height;
		canvas.getContext('2d')!.drawImage(now.bitmap, 0, 0);
		map.addSource('backdrop', {
			type: 'canvas',
			canvas,
			animate: false,
			coordinates: [
				[w, n],
				[e, n],
				[e, s],
				[w, s],
			],
		});
	} else {
		const { PMTiles, FileSource } = await import('pmtiles');
		const archive = new PMTiles(new FileSource(now.file));
		const header = await archive.getHeader();
		library.addProtocol('own', async (params) => {
			const [z, x, y] = params.url.replace('own://', '').split('/').map(Number) as [number, number, number];
			const tile = await archive.getZxy(z, x, y);
			return { data: tile ? tile.data : new ArrayBuffer(0) };
		});
		map.addSource('backdrop', {
			type: 'raster',
			tiles: ['own://{z}/{x}/{y}'],
			tileSize: 256,
			minzoom: header.minZoom,
			maxzoom: header.maxZoom,
		});
	}
	map.addLayer(
		{ id: 'backdrop', type: 'raster', source: 'backdrop', paint: { 'raster-fade-duration': 0 } },
		first === 'backdrop' ? undefined : first,
	);
}
