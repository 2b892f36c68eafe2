export * from './advice.ts';
export * from './backup.ts';
export * from './book.ts';
export * from './doubt.ts';
export {
	ACTS,
	type Act,
	canonical,
	compareEntries,
	type Entry,
	entryText,
	KINDS,
	type Kind,
	type Stamp,
	type Value,
} from './entry.ts';
export * from './examples.ts';
export * from './export.ts';
export * from './factor.ts';
export * from './fills.ts';
export * from './ledger.ts';
export * from './moisture.ts';
export * from './parcel.ts';
export * from './pieces.ts';
export * from './reconcile.ts';
export * from './scale.ts';
export * from './scale-file.ts';
export * from './scale-line.ts';
export * from './thing.ts';
export * from './totals.ts';
export * from './values.ts';
export * from './write.ts';
