-- title: Works, what they destroyed, and the parts that came out
-- description: Everything recorded as done to an instrument after it was completed, and the parts
--   that are no longer in it, with where they are kept as far as that is told.
-- for: collector, dealer
-- parameter instrument: Only this instrument |
-- column instrument: the instrument
-- column what: a work or a part
-- column positions: the positions it concerns
-- column title: what it is
-- column sentence: what is recorded of it
-- column source: from where it is known
SELECT l.instrument,
       CASE l.section WHEN 'works' THEN 'work' ELSE 'part' END AS what,
       (SELECT group_concat(p.position, ', ') FROM line_position AS p WHERE p.line = l.key)
           AS positions,
       l.title, l.sentence, o.title AS source
FROM line AS l LEFT JOIN source AS o ON o.key = l.source
-- With none named: up to ~, which no name goes beyond. An OR would keep the index from being used.
WHERE l.section IN ('works', 'parts') AND l.instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
ORDER BY l.instrument, what DESC, l.key
