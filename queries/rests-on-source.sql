-- title: What rests on one source or one examiner
-- description: Every statement that would have to be looked at again without a source: one
--   sitting, one paper, one person's telling.
-- for: dealer, researcher
-- parameter source: Words in the source's title or description (empty for every source) |
-- column instrument: the instrument
-- column source: the source
-- column finding: the statement that rests on it
-- column kind: what kind of statement it is
-- column sentence: the statement
-- column steps: how many steps lie between the source and the statement
WITH RECURSIVE resting (source, finding, steps) AS (
    SELECT l.source, s.finding, 1
    FROM support AS s
    JOIN line AS l ON l.key = s.line
    JOIN source AS o ON o.key = l.source
    WHERE :source = '' OR instr(lower(o.title || ' ' || o.sentence), lower(:source)) > 0
    UNION
    SELECT r.source, s.finding, r.steps + 1
    FROM resting AS r JOIN support AS s ON s.premise_finding = r.finding
    WHERE r.steps < 30
    LIMIT 4000 -- more cannot be shown on one page anyhow
)
SELECT f.instrument, o.title AS source, f.key AS finding, f.kind, f.sentence,
       min(r.steps) AS steps
FROM resting AS r
JOIN finding AS f ON f.key = r.finding
JOIN source AS o ON o.key = r.source
GROUP BY r.source, f.key
ORDER BY f.instrument, o.title, steps, f.key
