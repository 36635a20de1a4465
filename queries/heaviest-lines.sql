-- title: What each line is worth
-- description: Lines, or several that are one piece of evidence, by how much they are worth for a
--   statement or against it. Weights of lines that depend on each other cannot be multiplied.
--   The fifty heaviest are told.
-- for: dealer, researcher
-- parameter instrument: Only this instrument |
-- parameter least: Worth at least this many to one | 10
-- column instrument: the instrument
-- column about: what they are worth something for
-- column side: for it or against it
-- column worth: so many to one
-- column words: the same on the scale of words
-- column sentence: the lines, and what would be so without them
-- column finding: where the chain beneath the statement opens
SELECT instrument, about_words AS about,
       CASE WHEN ratio >= 1 THEN 'for' ELSE 'against' END AS side,
       round(max(ratio, 1 / max(ratio, 1e-300)), 1) AS worth,
       words, sentence, line_weight.about AS finding
FROM line_weight
-- With none named: up to ~, which no name goes beyond. An OR would keep the index from being used.
WHERE instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
  AND max(ratio, 1 / max(ratio, 1e-300)) >= CAST(:least AS REAL)
ORDER BY worth DESC, instrument, key
LIMIT 50
