import { dictionary, SHARED_WORDS } from './words.ts';

export const LOAD_WORDS = dictionary({
	...SHARED_WORDS,
	id: {
		0.9: 'id',
		0.85: 'dump, load, load number',
		0.8: 'number, no, nr',
		0.75: 'seq, record',
	},
	time: {
		0.95: 'date time, datetime, timestamp',
		0.9: 'time, zeit, heure, hora',
		0.8: 'when, weighed, time out',
	},
	date: {
		0.93: 'date, datum, fecha',
		0.85: 'day',
	},
	clock: { 0.92: 'uhrzeit' },
	event: {
		0.95: 'event',
		0.9: 'action, type',
		0.85: 'kind, direction, operation',
		0.8: 'mode, vorgang',
	},
	combine: {
		0.96: 'combine',
		0.95: 'harvester',
		0.9: 'machine, from, source, mähdrescher',
		0.85: 'vehicle',
	},
	weight: {
		0.96: 'net weight',
		0.95: 'net',
		0.94: 'weight, netto, net wt',
		0.93: 'wt, gewicht, poids, peso',
		0.9: 'mass',
		0.85: 'amount, quantity',
		0.8: 'lbs, pounds, kg',
	},
	gross: {
		0.96: 'gross, brutto',
		0.95: 'gross weight',
		0.9: 'bruto, brut',
	},
	tare: {
		0.96: 'tare, tara',
		0.85: 'empty weight, truck empty',
	},
	emptied: {
		0.95: 'emptied',
		0.9: 'tank empty',
		0.85: 'empty, clean out, leer',
	},
	truck_load: {
		0.96: 'truck load',
		0.95: 'truckload',
		0.9: 'truck',
		0.85: 'trailer, lkw, load number',
		0.8: 'load',
		0.75: 'semi',
	},
	ticket: {
		0.97: 'ticket',
		0.95: 'ticket number',
		0.9: 'scale ticket, receipt, wiegeschein',
		0.85: 'bon, invoice',
	},
	scale: {
		0.9: 'scale, cart',
		0.85: 'waage',
	},
	destination: {
		0.95: 'destination',
		0.9: 'elevator, buyer, delivered to',
		0.85: 'location, bin, to, customer',
	},
	test_weight: {
		0.96: 'test weight',
		0.95: 'tw, test wt',
		0.9: 'hektolitergewicht',
		0.85: 'density',
	},
	note: {
		0.95: 'note, notes',
		0.9: 'comment, remarks, bemerkung',
		0.85: 'memo',
	},
});
