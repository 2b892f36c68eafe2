/** Markup that is safe to put into a page: only `html` makes it. */
export class Markup {
	constructor(readonly text: string) {}
	toString(): string {
		return this.text;
	}
}

export type Piece = string | number | Markup | readonly Piece[] | null | undefined | false;

/** Escapes text: what came from a file is never markup. */
function escapeText(text: string): string {
	return text.replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);
}

/**
 * Markup from a template. Every inserted value is escaped, except for markup that `html` itself made; lists are
 * joined; null, undefined and false give nothing.
 *
 * `<b>` put into a cell reads `&#60;b&#62;`.
 */
export function html(strings: TemplateStringsArray, ...pieces: Piece[]): Markup {
	let text = strings[0]!;
	pieces.forEach((piece, k) => {
		text += flatten(piece) + strings[k + 1]!;
	});
	return new Markup(text);
}

function flatten(piece: Piece): string {
	if (piece === null || piece === undefined || piece === false) return '';
	if (piece instanceof Markup) return piece.text;
	if (typeof piece === 'object') return piece.map(flatten).join('');
	return escapeText(String(piece));
}
