/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The words of the answers that are not keys of the machine file, or say more than their key: a
 * sentence or two on each, for a builder who meets them for the first time.
 */
#ifndef LASTBAR_MACHINE_GLOSSARY_H
#define LASTBAR_MACHINE_GLOSSARY_H

#ifdef __cplusplus
extern "C" {
#endif

/* What a word means.
 * word  in any case, e.g. "dead centre", "ANR"
 * Returns the explanation [UTF-8], one paragraph that begins with the word, or NULL for a word that
 * is not in the glossary. The text is constant. */
const char *lb_glossary_find(const char *word);

#ifdef __cplusplus
}
#endif

#endif
