/** Columns of each kind of row that can be shown and edited, and their formats. */
import type { Kind } from '../../../lib/book/index.ts';
import type { Shape } from './shapes.ts';

export interface Column {
	key: string;
	shape: Shape;
}

const WEIGHED: Column[] = [
	{ key: 'reading_kg', shape: 'mass' },
	{ key: 'net_kg', shape: 'mass' },
	{ key: 'time_s', shape: 'time' },
];

export const COLUMNS: Partial<Record<Kind, Column[]>> = {
	dump: [
		{ key: 'number', shape: 'text' },
		{ key: 'combines', shape: 'combines' },
		...WEIGHED,
		{ key: 'emptied', shape: 'emptied' },
		{ key: 'moisture_pct', shape: 'pct' },
		{ key: 'testWeight_kg_hl', shape: 'testWeight' },
		{ key: 'variety', shape: 'text' },
		{ key: 'field', shape: 'field' },
		{ key: 'split', shape: 'split' },
		{ key: 'note', shape: 'text' },
		{ key: 'aside', shape: 'flag' },
	],
	offload: [
		{ key: 'number', shape: 'text' },
		...WEIGHED,
		{ key: 'load', shape: 'load' },
		{ key: 'moisture_pct', shape: 'pct' },
		{ key: 'note', shape: 'text' },
	],
	zero: [
		{ key: 'reading_kg', shape: 'mass' },
		{ key: 'time_s', shape: 'time' },
		{ key: 'note', shape: 'text' },
	],
	ticket: [
		{ key: 'number', shape: 'text' },
		{ key: 'load', shape: 'load' },
		{ key: 'net_kg', shape: 'mass' },
		{ key: 'gross_kg', shape: 'mass' },
		{ key: 'tare_kg', shape: 'mass' },
		{ key: 'moisture_pct', shape: 'pct' },
		{ key: 'testWeight_kg_hl', shape: 'testWeight' },
		{ key: 'destination', shape: 'destination' },
		{ key: 'combine', shape: 'combine' },
		{ key: 'field', shape: 'field' },
		{ key: 'time_s', shape: 'time' },
		{ key: 'note', shape: 'text' },
	],
	reading: [
		{ key: 'combine', shape: 'combine' },
		{ key: 'value', shape: 'number' },
		{ key: 'unit', shape: 'unit' },
		{ key: 'how', shape: 'how' },
		{ key: 'basis', shape: 'basis' },
		{ key: 'at_pct', shape: 'pct' },
		{ key: 'moisture_pct', shape: 'pct' },
	],
	event: [
		{ key: 'combine', shape: 'combine' },
		{ key: 'time_s', shape: 'time' },
		{ key: 'note', shape: 'text' },
	],
	load: [
		{ key: 'number', shape: 'text' },
		{ key: 'truck', shape: 'truck' },
		{ key: 'destination', shape: 'destination' },
		{ key: 'closed', shape: 'flag' },
	],
	combine: [
		{ key: 'name', shape: 'text' },
		{ key: 'monitor', shape: 'monitor' },
		{ key: 'tank_kg', shape: 'mass' },
		{ key: 'swath_m', shape: 'length' },
		{ key: 'row_m', shape: 'spacing' },
		{ key: 'header_ahead_m', shape: 'length' },
		{ key: 'away', shape: 'flag' },
	],
	cart: [
		{ key: 'name', shape: 'text' },
		{ key: 'size_kg', shape: 'mass' },
		{ key: 'limit_pct', shape: 'pct' },
	],
	truck: [
		{ key: 'name', shape: 'text' },
		{ key: 'room_kg', shape: 'mass' },
		{ key: 'away', shape: 'flag' },
	],
	destination: [
		{ key: 'name', shape: 'text' },
		{ key: 'shrink_pct_per_point', shape: 'pct' },
		{ key: 'handling_pct', shape: 'pct' },
	],
	field: [
		{ key: 'name', shape: 'text' },
		{ key: 'season', shape: 'year' },
		{ key: 'client', shape: 'text' },
		{ key: 'farm', shape: 'text' },
		{ key: 'crop', shape: 'crop' },
		{ key: 'timeZone', shape: 'text' },
		{ key: 'tolerance_pct', shape: 'pct' },
		{ key: 'landlord', shape: 'text' },
		{ key: 'landlord_pct', shape: 'pct' },
		{ key: 'away', shape: 'flag' },
	],
};
