import { SaxesParser } from 'saxes';
import { InputFault } from '../../model/index.ts';
import { fileFault } from '../bytes.ts';
import { textOf } from '../text/decode.ts';

/** Callbacks for the parts of an XML file. Names have no prefix. */
export interface Met {
	open?(name: string, attributes: Readonly<Record<string, string>>): void;
	text?(text: string): void;
	close?(name: string): void;
}

/** Nothing that is read here is nested more deeply. */
const DEEPEST = 64;

/** A document type could declare entities that grow without end, or point outside the file. */
const PLAIN = 'expected plain XML without a document type or entities of its own; export it again';

/**
 * Scans an XML file of any size and keeps nothing of what it has passed on.
 *
 * @returns null, or where and why the file broke off: everything before was passed on
 * @throws InputFault for XML that declares a document type or entities, or that is nested too deeply
 */
export function scanXml(file: string, bytes: Uint8Array, met: Met): string | null {
	const parser = new SaxesParser();
	let broke: string | null = null;
	let depth = 0;
	const bare = (name: string) => name.slice(name.indexOf(':') + 1);
	parser.on('doctype', () => {
		throw fileFault(file, 'a document type', PLAIN);
	});
	parser.on('error', (fault) => {
		if (/entity/i.test(fault.message)) throw fileFault(file, fault.message, PLAIN);
		throw new Broken(fault.message.replace(/^\d+:\d+: /, ''), parser.line);
	});
	parser.on('opentag', (tag) => {
		if (++depth > DEEPEST) throw fileFault(file, `${depth} levels`, 'the XML is nested too deeply to be data');
		met.open?.(bare(tag.name), tag.attributes as Record<string, string>);
	});
	parser.on('text', (text) => met.text?.(text));
	parser.on('cdata', (text) => met.text?.(text));
	parser.on('closetag', (tag) => {
		depth--;
		met.close?.(bare(tag.name));
	});
	const text = textOf(bytes);
	try {
		for (let at = 0; at < text.length; at += 65_536) parser.write(text.slice(at, at + 65_536));
		parser.close();
	} catch (fault) {
		if (fault instanceof InputFault) throw fault;
		if (!(fault instanceof Broken)) throw fault;
		broke = `line ${fault.line}: ${fault.message}`;
	}
	return broke;
}

class Broken extends Error {
	constructor(
		message: string,
		readonly line: number,
	) {
		super(message);
	}
}

/** An element with its contents. */
export interface Element {
	name: string;
	attributes: Readonly<Record<string, string>>;
	children: Element[];
	text: string;
}

/**
 * A small XML file as a tree, and where it broke off if it did.
 *
 * @throws InputFault if there is not even a first element; see `scanXml`
 */
export function readTree(file: string, bytes: Uint8Array): { root: Element; broke: string | null } {
	let root: Element | null = null;
	const path: Element[] = [];
	const broke = scanXml(file, bytes, {
		open(name, attributes) {
			const element: Element = { name, attributes, children: [], text: '' };
			path.at(-1)?.children.push(element);
			root ??= element;
			path.push(element);
		},
		text(text) {
			const top = path.at(-1);
			if (top) top.text += text;
		},
		close: () => path.pop(),
	});
	if (root === null) throw fileFault(file, broke ?? 'nothing', 'expected XML; export the file again');
	return { root, broke };
}

/** The children of that name. */
export const childrenOf = (element: Element, name: string): Element[] =>
	element.children.filter((c) => c.name === name);

/** Every descendant of that name, at any depth. */
export function* below(element: Element, name: string): Generator<Element> {
	for (const child of element.children) {
		if (child.name === name) yield child;
		yield* below(child, name);
	}
}
