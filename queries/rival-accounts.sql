-- title: Rival accounts: what each way of reading the evidence gives up
-- description: Where not everything can hold, each account gives up as little as it can so that
--   the rest can. Leading accounts are those that cannot be put aside.
-- for: dealer, collector
-- parameter instrument: Only this instrument |
-- parameter leading: Only leading accounts (yes or no) | yes
-- column instrument: the instrument
-- column account: the account
-- column is_leading: whether it cannot be put aside
-- column gives_up: what it gives up
-- column prior: the share at which that was expected to hold, before the evidence
-- column odds_note: how it stands against the others
SELECT a.instrument, a.sentence AS account, a.is_leading, u.sentence AS gives_up, u.prior,
       a.odds_note
FROM account AS a
JOIN account_gives_up AS g ON g.account = a.key
JOIN supposition AS u ON u.key = g.supposition
-- With none named: up to ~, which no name goes beyond. An OR would keep the index from being used.
WHERE a.instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
  AND (lower(:leading) <> 'yes' OR a.is_leading = 'yes')
ORDER BY a.instrument, a.is_leading DESC, a.id, u.id
