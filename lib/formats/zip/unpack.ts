import { Inflate } from 'fflate';
import { InputFault, type Source } from '../../model/index.ts';
import { fileFault, type Loaded } from '../bytes.ts';
import { crc32 } from '../crc.ts';
import { bomb, type Entry, readDirectory } from './directory.ts';

/** Packed bytes given to the decoder at a time: at 1032 to 1 it returns at most 4 MB. */
const STEP = 4096;

/**
 * The files of a zip as sources named "the.zip/path", unpacked while they are read and checked against the size and
 * checksum in the zip.
 *
 * @throws InputFault see `readDirectory`; a source's chunks throw it if its bytes are damaged
 */
export function unzip(zip: Loaded): Source[] {
	return readDirectory(zip).map((entry) => ({
		name: `${zip.name}/${entry.name}`,
		bytes: entry.size,
		chunks: () => unpack(zip, entry),
	}));
}

async function* unpack(zip: Loaded, entry: Entry): AsyncGenerator<Uint8Array> {
	const packed = zip.bytes.subarray(entry.start, entry.start + entry.packed);
	const damaged = (found: string) =>
		fileFault(zip.name, `${entry.name}: ${found}`, 'a file in the zip is damaged; copy or export the zip again');
	let size = 0;
	let crc = 0;
	const count = (part: Uint8Array) => {
		size += part.length;
		if (size > entry.size) throw bomb(zip.name, entry.name, size, entry.packed);
		crc = crc32(part, crc);
	};
	if (entry.method === 0) {
		count(packed);
		yield packed;
	} else {
		const made: Uint8Array[] = [];
		const inflate = new Inflate((part) => {
			count(part);
			if (part.length > 0) made.push(part);
		});
		try {
			for (let at = 0; at === 0 || at < packed.length; at += STEP) {
				inflate.push(packed.subarray(at, at + STEP), at + STEP >= packed.length);
				yield* made.splice(0);
			}
		} catch (fault) {
			if (fault instanceof InputFault) throw fault;
			throw damaged('its bytes cannot be unpacked');
		}
	}
	if (size !== entry.size) throw damaged(`${size} of ${entry.size} bytes`);
	if (crc !== entry.crc) throw damaged('its checksum is not as stated');
}
