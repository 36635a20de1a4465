-- title: Which parts did not leave the works with their instrument, and why
-- description: Every position whose state is something other than first-fitted, with its reasons.
--   A position that merely has not been examined is not among them.
-- for: collector, dealer
-- parameter instrument: Only this instrument |
-- parameter position: Position begins with (such as pot; empty for all) |
-- column instrument: the instrument
-- column position: the position
-- column state: its state, or the states between which it cannot be told
-- column reasons: why
-- column finding: where the chain beneath it opens
SELECT p.instrument, p.name AS position, p.label AS state, p.reasons, p.finding
FROM position AS p
-- With none named: up to ~, which no name goes beyond. An OR would keep the index from being used.
WHERE p.instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
  AND (:position = '' OR substr(p.position, 1, length(:position)) = :position)
  AND p.state NOT IN ('first-fitted', 'presumed first-fitted (untested)', 'not examined')
ORDER BY p.instrument, p.name
