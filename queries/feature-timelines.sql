-- title: Feature timelines and the examples they rest on
-- description: When a feature is said to have been in production, on how many examples that
--   rests, and their first and last dates. An example that is also published here makes a test
--   of the one against the other run in a circle, unless it is left out.
-- for: researcher
-- parameter position: Position (such as tuner-plates; empty for all) |
-- column reference: the timeline
-- column sentence: what it says
-- column scope: for which makers, models and kinds it says so
-- column begins: from when, as written
-- column ends: until when, as written
-- column n: on how many examples it says it rests
-- column listed: how many examples are listed
-- column listed_here: how many of them are instruments of this site
-- column first_example: the earliest date of an example, as written
-- column last_example: the latest date of an example, as written
-- column confidence: how far it can be relied on
SELECT r.id AS reference, r.sentence, r.scope, r.begins, r.ends, r.n,
       count(e.id) AS listed,
       coalesce(sum(e.is_published_here = 'yes'), 0) AS listed_here,
       min(e.date) AS first_example,
       max(e.date) AS last_example,
       r.confidence
FROM reference AS r LEFT JOIN timeline_example AS e ON e.reference = r.id
WHERE r.section = 'timelines' AND (:position = '' OR r.position = :position)
GROUP BY r.id
ORDER BY r.position, r.begins, r.id
