/** The part of PapaParse that is used. Its published types depend on Node's types, which are not available here. */
declare module 'papaparse' {
	interface Parsed {
		data: string[][];
		errors: { code: string; row: number }[];
		meta: { cursor: number };
	}
	class Parser {
		constructor(config: { delimiter: string; newline: string });
		/** `ignoreLastRow` leaves a possibly incomplete row for the next call; `meta.cursor` is where it starts. */
		parse(input: string, baseIndex: number, ignoreLastRow: boolean): Parsed;
	}
	const papa: { Parser: typeof Parser };
	export default papa;
}
