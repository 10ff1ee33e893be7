// Package models folds the spellings of a device's name into one model.
//
// In goes what a row says about its device: maker, family, model, class. Out comes one spelling of
// each, and what was dropped. Folding is lexical and knows no real model: case, spacing, a doubled
// maker, storage sizes, colours and region suffixes go; nothing else does. Digits, years and words
// such as Plus, Pro, Mini or Lite always stay, for they tell models apart.
//
// A name's spelling follows fixed rules and never the other rows, so that today's export, last
// year's and another shop's agree: words start with a capital, words of one or two letters and codes
// with digits are capitals throughout, three letters without a vowel too.
package models
