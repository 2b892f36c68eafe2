/** 1 for yes, 0 for no, −1 for blank, or null for any other text. */
export function yesNo(text: string): -1 | 0 | 1 | null {
	switch (text.trim().toLowerCase()) {
		case '':
			return -1;
		case '1':
		case 'yes':
		case 'y':
		case 'true':
		case 'on':
		case 'down':
			return 1;
		case '0':
		case 'no':
		case 'n':
		case 'false':
		case 'off':
		case 'up':
			return 0;
		default: {
			const number = Number(text);
			return number === 1 ? 1 : number === 0 ? 0 : null;
		}
	}
}
