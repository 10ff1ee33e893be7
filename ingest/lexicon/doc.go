// Package lexicon reads components from what a repair log says: part cells, findings, free text.
// In comes a text and what kind of cell it stood in; out come the component ids it names, each
// with the span it was read from and why it counts or does not.
//
// It knows no language: words of all languages of the lexicon are looked for at once, and a text
// may mix them. It does not judge which fault caused which, keeps nothing of the text, and never
// guesses a component from a word the lexicon does not have.
package lexicon
