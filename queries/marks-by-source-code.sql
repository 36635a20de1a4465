-- title: Source codes on marks, by year
-- description: Which three-figure source codes stand on marks, in which years their used readings
--   fall, and on how many instruments. A reading that stands for several decades counts in each.
-- for: researcher
-- parameter code: Source code (three figures; empty for all) |
-- column code: the source code
-- column year: the year in which the reading begins
-- column marks: marks with that code and year
-- column instruments: instruments on which they stand
SELECT substr(trim(r.text), 1, 3) AS code,
       substr(r.not_before, 1, 4) AS year,
       count(DISTINCT r.line) AS marks,
       count(DISTINCT r.instrument) AS instruments
FROM reading AS r
WHERE trim(r.text) GLOB '[0-9][0-9][0-9]*'
  AND instr(r.reading, 'week') > 0 -- read as a source-date code, not as a year or a number
  AND r.is_used = 'yes'
  AND r.not_before IS NOT NULL
  AND (:code = '' OR substr(trim(r.text), 1, 3) = :code)
GROUP BY code, year
ORDER BY code, year
