/** What is used of PapaParse. Its published types pull in Node's names, which this code must not see. */
declare module 'papaparse' {
	interface Parsed {
		data: string[][];
		errors: { code: string; row: number }[];
		meta: { cursor: number };
	}
	class Parser {
		constructor(config: { delimiter: string; newline: string });
		/** `ignoreLastRow` leaves what may be an incomplete row for the next call; `meta.cursor` is where it starts. */
		parse(input: string, baseIndex: number, ignoreLastRow: boolean): Parsed;
	}
	const papa: { Parser: typeof Parser };
	export default papa;
}
