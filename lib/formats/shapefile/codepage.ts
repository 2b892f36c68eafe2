/** Encoding of a dBASE table's text: from its .cpg, else the language byte in its header, else whichever decodes best. */

/** Language driver ids of dBASE and FoxPro that a decoder of the web platform supports. */
const BY_LANGUAGE: Record<number, string> = {
	3: 'windows-1252',
	87: 'windows-1252',
	88: 'windows-1252',
	89: 'windows-1252',
	38: 'ibm866',
	101: 'ibm866',
	200: 'windows-1250',
	201: 'windows-1251',
	202: 'windows-1254',
	203: 'windows-1253',
	120: 'big5',
	121: 'euc-kr',
	122: 'gb18030',
	123: 'shift_jis',
};

/** A decoder for a table's text, and the name of a stated but unknown encoding. */
export function decoderOf(
	cpg: string | null,
	language: number,
): { decode(bytes: Uint8Array): string; unknown: string | null } {
	const stated = cpg?.trim() ?? '';
	const bare = stated.toLowerCase().replace(/^(ansi|cp|oem|ms)[ _-]?(?=\d)/, '');
	const names =
		stated === ''
			? []
			: /^125\d$/.test(bare)
				? [`windows-${bare}`]
				: bare === '65001'
					? ['utf-8']
					: [bare, bare.replace(/^8859[-_]?/, 'iso-8859-')];
	for (const name of [...names, ...(stated === '' && BY_LANGUAGE[language] ? [BY_LANGUAGE[language]!] : [])]) {
		try {
			const known = new TextDecoder(name);
			return { decode: (bytes) => known.decode(bytes), unknown: null };
		} catch {}
	}
	const utf8 = new TextDecoder('utf-8', { fatal: true });
	const western = new TextDecoder('windows-1252');
	return {
		decode(bytes) {
			try {
				return utf8.decode(bytes);
			} catch {
				return western.decode(bytes);
			}
		},
		unknown: stated === '' ? null : stated,
	};
}
