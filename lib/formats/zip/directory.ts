/** A zip's directory: its list of files, checked before a byte is unpacked. APPNOTE.TXT 6.3.10, PKWARE. */
import { fileFault, type Loaded, sizeText, viewOf } from '../bytes.ts';

/** One file of a zip, as listed in the directory. */
export interface Entry {
	/** Path in the zip, with forward slashes. */
	name: string;
	/** 0 stored, 8 deflated. */
	method: number;
	crc: number;
	/** Position of its packed bytes. */
	start: number;
	packed: number;
	/** Size once unpacked. */
	size: number;
}

/** Deflate packs 1032 to 1 at most (RFC 1951); tables of one repeated value reach a few hundred. */
const RATIO = 400;
/** Below this size, any ratio is accepted. */
const SMALL = 16e6;
/** A season of many growers unpacks to several hundred megabytes. */
const MOST = 8e9;
const MOST_ENTRIES = 65_535;

const END = 0x06054b50;
const END_64 = 0x06064b50;
const LOCATOR_64 = 0x07064b50;
const CENTRAL = 0x02014b50;
const LOCAL = 0x04034b50;

/**
 * The files of a zip, without folders.
 *
 * @throws InputFault for a zip that is cut off or encrypted, has paths outside its folder, names a file twice,
 * overlaps itself or unpacks to more than it could reasonably hold
 */
export function readDirectory({ name, bytes }: Loaded): Entry[] {
	const broken = (found: string) => fileFault(name, found, 'the zip is cut off or damaged; copy or export it again');
	const view = viewOf(bytes);
	const { count, offset, shift } = endOf(name, bytes, view);
	if (count > MOST_ENTRIES) throw fileFault(name, `${count} files`, `a zip may hold ${MOST_ENTRIES} files`);
	const entries: Entry[] = [];
	let at = offset;
	let total = 0;
	for (let i = 0; i < count; i++) {
		if (at + 46 > bytes.length || view.getUint32(at, true) !== CENTRAL) throw broken(`${i} of ${count} files listed`);
		const flags = view.getUint16(at + 8, true);
		const [nameLength, extraLength, commentLength] = [28, 30, 32].map((o) => view.getUint16(at + o, true)) as [
			number,
			number,
			number,
		];
		const nameEnd = at + 46 + nameLength;
		if (nameEnd + extraLength + commentLength > bytes.length) throw broken(`${i} of ${count} files listed`);
		const path = nameOf(bytes.subarray(at + 46, nameEnd), (flags & 0x800) !== 0);
		const e = {
			name: path,
			method: view.getUint16(at + 10, true),
			crc: view.getUint32(at + 16, true),
			packed: view.getUint32(at + 20, true),
			size: view.getUint32(at + 24, true),
			local: view.getUint32(at + 42, true),
		};
		widen(e, view, nameEnd, nameEnd + extraLength);
		at = nameEnd + extraLength + commentLength;
		if (path.endsWith('/')) continue;
		if ((flags & 0x2041) !== 0) {
			throw fileFault(name, path, 'the zip is locked with a password; unzip it yourself and open the files in it');
		}
		if (climbs(path)) {
			throw fileFault(
				name,
				path,
				'the zip holds a file that would land outside its own folder; nothing of it was opened',
			);
		}
		if (e.method !== 0 && e.method !== 8) {
			throw fileFault(
				name,
				`${path}, method ${e.method}`,
				'the zip uses a compression that is not read here; unzip it and open the files in it',
			);
		}
		if (e.size > SMALL && e.size > RATIO * e.packed) throw bomb(name, path, e.size, e.packed);
		total += e.size;
		const local = e.local + shift;
		if (local + 30 > bytes.length || view.getUint32(local, true) !== LOCAL)
			throw broken(`${path} is not where the list says`);
		const start = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
		if (start + e.packed > bytes.length) throw broken(`${path} is cut off`);
		entries.push({ name: path, method: e.method, crc: e.crc, start, packed: e.packed, size: e.size });
	}
	if (total > MOST)
		throw fileFault(
			name,
			`${sizeText(total)} once unpacked`,
			'the zip holds too much to open at once; open one grower or field at a time',
		);
	refuseOverlap(name, entries);
	refuseTwins(name, entries);
	return entries;
}

/** A zip that unpacks to far more than real data would. */
export function bomb(file: string, path: string, size: number, packed: number) {
	return fileFault(
		file,
		`${path}: ${sizeText(size)} from ${sizeText(packed)}`,
		'a file in the zip would unpack to far more than real data does; it was not opened',
	);
}

/** Where the directory begins, and by how much all positions are shifted (bytes put before the zip). */
function endOf(name: string, bytes: Uint8Array, view: DataView): { count: number; offset: number; shift: number } {
	const lowest = Math.max(0, bytes.length - 22 - 65_535);
	for (let at = bytes.length - 22; at >= lowest; at--) {
		if (view.getUint32(at, true) !== END) continue;
		let [count, length, offset, end] = [
			view.getUint16(at + 10, true),
			view.getUint32(at + 12, true),
			view.getUint32(at + 16, true),
			at,
		];
		if (
			(count === 0xffff || length === 0xffffffff || offset === 0xffffffff) &&
			at >= 20 &&
			view.getUint32(at - 20, true) === LOCATOR_64
		) {
			const far = Number(view.getBigUint64(at - 12, true));
			if (far + 56 <= bytes.length && view.getUint32(far, true) === END_64) {
				count = Number(view.getBigUint64(far + 32, true));
				length = Number(view.getBigUint64(far + 40, true));
				offset = Number(view.getBigUint64(far + 48, true));
				end = far;
			}
		}
		const shift = end - length - offset;
		if (shift < 0) continue;
		return { count, offset: offset + shift, shift };
	}
	throw fileFault(name, 'no list of files at its end', 'the zip is cut off or damaged; copy or export it again');
}

/** Sizes beyond 4 GB are in an extra field (4.5.3). */
function widen(e: { packed: number; size: number; local: number }, view: DataView, from: number, to: number): void {
	let at = from;
	while (at + 4 <= to) {
		const id = view.getUint16(at, true);
		const end = at + 4 + view.getUint16(at + 2, true);
		if (id === 1) {
			let p = at + 4;
			for (const key of ['size', 'packed', 'local'] as const) {
				if (e[key] !== 0xffffffff || p + 8 > Math.min(end, to)) continue;
				e[key] = Number(view.getBigUint64(p, true));
				p += 8;
			}
		}
		at = end;
	}
}

function nameOf(bytes: Uint8Array, utf8: boolean): string {
	let text: string;
	try {
		text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
	} catch {
		text = new TextDecoder(utf8 ? 'utf-8' : 'windows-1252').decode(bytes);
	}
	// Zips of some Windows programs use backslashes as separators.
	return text.replaceAll('\\', '/').replace(/^(\.\/)+/, '');
}

const climbs = (path: string): boolean =>
	path === '' ||
	path.startsWith('/') ||
	path.includes('\0') ||
	/^[A-Za-z]:/.test(path) ||
	path.split('/').includes('..');

function refuseOverlap(name: string, entries: readonly Entry[]): void {
	const inOrder = [...entries].sort((a, b) => a.start - b.start);
	for (let i = 1; i < inOrder.length; i++) {
		const [a, b] = [inOrder[i - 1]!, inOrder[i]!];
		if (a.start + a.packed > b.start && b.packed > 0) {
			throw fileFault(
				name,
				`${a.name} and ${b.name}`,
				'two files of the zip share the same bytes, as no honest zip does; it was not opened',
			);
		}
	}
}

function refuseTwins(name: string, entries: readonly Entry[]): void {
	const seen = new Set<string>();
	for (const e of entries) {
		if (seen.has(e.name))
			throw fileFault(name, `${e.name} twice`, 'the zip holds two files of one name; it is not clear which counts');
		seen.add(e.name);
	}
}
