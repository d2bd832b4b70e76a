/** Sentences of four words or more that stand more than once in a text, wrapped or not. */
export function repeatedSentences(text: string): string[] {
  const sentences = text
    .split(/\n\s*\n/)
    .flatMap((block) =>
      block
        .replace(/\s+/g, ' ')
        .replace(/NEXT /g, '')
        .split(/(?<=[.!?]) /),
    )
    .map((sentence) => sentence.trim())
    .filter((sentence) => /[.!?]$/.test(sentence) && sentence.split(' ').length >= 4);
  return [...new Set(sentences.filter((sentence, i) => sentences.indexOf(sentence) !== i))];
}
