//! Candidates, operating cases, balancing, rules, ranking.
