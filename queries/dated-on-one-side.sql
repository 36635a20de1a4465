-- title: Events that are dated on one side only
-- description: A bound without its partner is half a date. Each end is listed with what it rests
--   on, and the missing end with what is said of it.
-- for: collector, dealer, researcher
-- parameter event: Event (completed, dispatched, first sold; empty for all) |
-- column instrument: the instrument
-- column event: the event
-- column is_leading: whether the account cannot be put aside
-- column not_before: the lower bound, empty where none is known
-- column not_after: the upper bound, empty where none is known
-- column lower_end: what is said of the lower end
-- column upper_end: what is said of the upper end
SELECT d.instrument, d.event, a.is_leading, d.not_before, d.not_after,
       d.not_before_sentence AS lower_end, d.not_after_sentence AS upper_end
FROM dating AS d LEFT JOIN account AS a ON a.key = d.account
WHERE (d.not_before IS NULL OR d.not_after IS NULL)
  AND (:event = '' OR d.event = :event)
ORDER BY d.instrument, d.event, d.id
