-- title: Which parts are not, or no longer, as they left the works, and why
-- description: Every position of which the record says that its part was refitted by the works,
--   replaced, altered or is missing, with the reasons. Where that cannot be told, where nothing was
--   examined, and where an instrument like this one has no such part, nothing is listed.
-- for: collector, dealer
-- parameter instrument: Only this instrument |
-- parameter position: Position begins with (such as pot; empty for all) |
-- column instrument: the instrument
-- column position: the position
-- column state: its state, or those between which it cannot be told, none of which is the first
-- column reasons: why
-- column finding: where the chain beneath it opens
SELECT p.instrument, p.name AS position, p.label AS state, p.reasons, p.finding
FROM position AS p
-- With none named: up to ~, which no name goes beyond. An OR would keep the index from being used.
WHERE p.instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
  AND (:position = '' OR substr(p.position, 1, length(:position)) = :position)
  AND p.state NOT IN (
    'first-fitted', 'presumed first-fitted (untested)', 'cannot be told', 'not examined',
    'not applicable'
  )
ORDER BY p.instrument, p.name
