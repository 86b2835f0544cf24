/** A sentence begins with a capital; names such as “note 5.1” come without. */
export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);
