/**
 * The load book, from what was entered to what is shown: entries make a book (`book.ts`), a book's things are what its
 * entries left standing (`entries/thing.ts`, and `kept.ts` for those that count), the ledger follows each cart's scale
 * (`ledger/`), the answer makes each combine's factor of it (`answer/`: fills, then `running-answer.ts`), the account follows
 * every kilogram to totals (`account/`), and the exchange takes it in and out (`exchange/`).
 */

export * from './account/carried-over.ts';
export * from './account/examples.ts';
export * from './account/grain-pieces.ts';
export * from './account/moisture.ts';
export * from './account/reconcile.ts';
export * from './account/totals.ts';
export * from './answer/advice.ts';
export * from './answer/doubt.ts';
export * from './answer/fills.ts';
export * from './answer/running-answer.ts';
export * from './answer/scale-ratio.ts';
export * from './book.ts';
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
export * from './exchange/scale-file.ts';
export * from './exchange/scale-guess.ts';
export * from './exchange/scale-line.ts';
export * from './exchange/unique-names.ts';
export * from './kept.ts';
export * from './ledger/ledger.ts';
export * from './values.ts';
