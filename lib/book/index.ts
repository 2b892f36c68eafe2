export * from './account/carried-over.ts';
export * from './account/examples.ts';
export * from './account/moisture.ts';
export * from './account/pieces.ts';
export * from './account/reconcile.ts';
export * from './account/totals.ts';
export * from './advice.ts';
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
} from './entries/entry.ts';
export * from './entries/thing.ts';
export * from './entries/write.ts';
export * from './exchange/backup.ts';
export * from './exchange/codes.ts';
export * from './exchange/export.ts';
export * from './exchange/names.ts';
export * from './exchange/scale-file.ts';
export * from './exchange/scale-guess.ts';
export * from './exchange/scale-line.ts';
export * from './factor.ts';
export * from './fills.ts';
export * from './kept.ts';
export * from './ledger.ts';
export * from './scale.ts';
export * from './values.ts';
