-- title: Which conclusions rest on a reference row
-- description: Everything that falls, or has to be looked at again, if a row of a pack turns out
--   to be wrong: directly, through other statements, or because the row is supposed to hold.
-- for: researcher, dealer
-- parameter reference: Row of a pack (pack/row; empty for every row) |
-- column reference: the row
-- column instrument: the instrument
-- column finding: the statement that rests on it
-- column kind: what kind of statement it is
-- column sentence: the statement
-- column steps: how many steps lie between the row and the statement
WITH RECURSIVE resting (reference, finding, steps) AS (
    SELECT s.reference, s.finding, 1
    FROM support AS s
    WHERE s.reference IS NOT NULL AND (:reference = '' OR s.reference = :reference)
    UNION
    SELECT u.reference, fs.finding, 1
    FROM supposition AS u JOIN finding_supposition AS fs ON fs.supposition = u.key
    WHERE u.reference IS NOT NULL AND (:reference = '' OR u.reference = :reference)
    UNION
    SELECT r.reference, s.finding, r.steps + 1
    FROM resting AS r JOIN support AS s ON s.premise_finding = r.finding
    WHERE r.steps < 30
    LIMIT 4000 -- more cannot be shown on one page anyhow
)
SELECT r.reference, f.instrument, f.key AS finding, f.kind, f.sentence, min(r.steps) AS steps
FROM resting AS r JOIN finding AS f ON f.key = r.finding
GROUP BY r.reference, f.key
ORDER BY r.reference, f.instrument, steps, f.key
