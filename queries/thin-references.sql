-- title: References that rest on few examples, and what was concluded from them
-- description: Rows of packs that say on fewer examples than asked, or do not say on how many,
--   they rest; with the number of statements here that use them directly. Examples that share a
--   source count once.
-- for: researcher, dealer
-- parameter fewest: Fewer independent examples than | 3
-- column reference: the row
-- column section: what kind of row it is
-- column sentence: what it says
-- column n: on how many examples it says it rests; empty where it does not say
-- column independent: listed examples with sources of their own
-- column used_by: statements here that use it directly
-- column source: from where it is known
SELECT r.id AS reference, r.section, r.sentence, r.n,
       (SELECT count(DISTINCT e.source) FROM timeline_example AS e WHERE e.reference = r.id)
           AS independent,
       (SELECT count(DISTINCT s.finding) FROM support AS s WHERE s.reference = r.id) AS used_by,
       r.source
FROM reference AS r
WHERE r.section IN ('timelines', 'specifications', 'serial_tables', 'matching_numbers')
  AND (
    r.n IS NULL
    OR r.n < CAST(:fewest AS INTEGER)
    OR (r.section = 'timelines' AND independent < CAST(:fewest AS INTEGER))
  )
ORDER BY used_by DESC, r.id
