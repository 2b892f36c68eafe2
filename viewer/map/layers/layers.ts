/** Map layers: the source of each layer's values and how they are shown. */
import type { Scene } from '../../../lib/model/index.ts';
import type { Quantity } from '../../state/format.ts';

export type LayerId =
	| 'yield'
	| 'change'
	| 'uncertainty'
	| 'moisture'
	| 'speed'
	| 'combine'
	| 'fill'
	| 'flag'
	| 'grid'
	| 'gridError';

/** How values are shown: a quantity with units, a percentage, or one of a list of categories. */
export type ValueKind = { kind: 'amount'; quantity: Quantity } | { kind: 'percent' } | { kind: 'one of' };

export interface Layer {
	id: LayerId;
	valueKind: ValueKind;
	/** Color scale: darker for more, two colors around zero, or one color per category. */
	scale: 'sequential' | 'diverging' | 'categorical';
	ground: 'swaths' | 'grid';
	/** True for an uncertainty, which has a color scale of its own. */
	error?: true;
	/** Values, in the library's own units; NaN = not drawn. */
	values(scene: Scene): Float32Array;
	/** As recorded, where before and after differ. */
	before?(scene: Scene): Float32Array;
	/** Names of categories, by value. */
	categories?(scene: Scene): string[];
}

/** Values of the records on the map, NaN for the others. */
function kept(scene: Scene, value: (i: number) => number): Float32Array {
	const out = new Float32Array(scene.n);
	for (let i = 0; i < scene.n; i++) out[i] = scene.flag[i] === 0 ? value(i) : Number.NaN;
	return out;
}

/** Values of every record that cut ground, flagged or not. */
function all(scene: Scene, value: (i: number) => number): Float32Array {
	return Float32Array.from({ length: scene.n }, (_, i) => value(i));
}

export const layers: Layer[] = [
	{
		id: 'yield',
		valueKind: { kind: 'amount', quantity: 'yield' },
		scale: 'sequential',
		ground: 'swaths',
		values: (s) => kept(s, (i) => s.corrected_kg_ha[i]!),
		before: (s) => kept(s, (i) => s.monitor_kg_ha[i]!),
	},
	{
		id: 'change',
		valueKind: { kind: 'percent' },
		scale: 'diverging',
		ground: 'swaths',
		values: (s) => kept(s, (i) => 100 * (s.corrected_kg_ha[i]! / s.monitor_kg_ha[i]! - 1)),
	},
	{
		id: 'uncertainty',
		error: true,
		valueKind: { kind: 'percent' },
		scale: 'sequential',
		ground: 'swaths',
		// Half of the 95 % interval.
		values: (s) => kept(s, (i) => 196 * s.u_rel[i]!),
	},
	{
		id: 'moisture',
		valueKind: { kind: 'amount', quantity: 'moisture' },
		scale: 'sequential',
		ground: 'swaths',
		values: (s) => all(s, (i) => s.moisture_pct[i]!),
	},
	{
		id: 'speed',
		valueKind: { kind: 'amount', quantity: 'speed' },
		scale: 'sequential',
		ground: 'swaths',
		values: (s) => all(s, (i) => s.speed_m_s[i]!),
	},
	{
		id: 'combine',
		valueKind: { kind: 'one of' },
		scale: 'categorical',
		ground: 'swaths',
		values: (s) => all(s, (i) => s.combine[i]!),
		categories: (s) => s.facts.combines,
	},
	{
		id: 'fill',
		valueKind: { kind: 'one of' },
		scale: 'categorical',
		ground: 'swaths',
		values: (s) => all(s, (i) => (s.fill[i]! < 0 ? Number.NaN : s.fill[i]!)),
		categories: (s) => s.facts.fills,
	},
	{
		id: 'flag',
		valueKind: { kind: 'one of' },
		scale: 'categorical',
		ground: 'swaths',
		values: (s) => all(s, (i) => s.flag[i]!),
		categories: (s) => s.facts.flags,
	},
	{
		id: 'grid',
		valueKind: { kind: 'amount', quantity: 'yield' },
		scale: 'sequential',
		ground: 'grid',
		values: (s) => s.gridYield_kg_ha,
		before: (s) => s.gridMonitor_kg_ha,
	},
	{
		id: 'gridError',
		error: true,
		valueKind: { kind: 'amount', quantity: 'yield' },
		scale: 'sequential',
		ground: 'grid',
		values: (s) => s.gridSe_kg_ha,
	},
];

export const layerOf = (id: LayerId): Layer => layers.find((l) => l.id === id)!;
