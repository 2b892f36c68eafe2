/** Values of each kind of row that can be shown and edited, in their order. */
import type { Kind } from '../../../lib/book/index.ts';

const COLUMNS: { [K in Kind]: string } = {
	dump: 'number combines reading_kg net_kg time_s emptied moisture_pct testWeight_kg_hl variety field cart split note aside',
	offload: 'number reading_kg net_kg time_s load cart moisture_pct note',
	zero: 'reading_kg time_s cart note',
	ticket: 'number load net_kg gross_kg tare_kg moisture_pct testWeight_kg_hl destination combine field time_s note',
	reading: 'combine value unit how basis at_pct moisture_pct',
	event: 'combine time_s note',
	load: 'number truck destination closed',
	combine: 'name monitor tank_kg swath_m row_m header_ahead_m away',
	cart: 'name size_kg limit_pct',
	truck: 'name room_kg away',
	destination: 'name shrink_pct_per_point handling_pct',
	field: 'name season client farm crop timeZone tolerance_pct landlord landlord_pct away',
	mapping: '',
};

export const columnsOf = (kind: Kind): readonly string[] => COLUMNS[kind].split(' ').filter((key) => key !== '');
