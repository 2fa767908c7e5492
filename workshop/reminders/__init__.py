"""What is due, kept in the database so that it cannot be lost.

Keys are opaque here: the caller names a series ("stage:12:shake") and finds it again by that name. Times are
aware UTC moments handed in as `at`; people as `by`. Every function takes keywords only.

    from workshop.reminders import queries, rules, series, settle

rules     Daily(every, at, taper, from_day, weekdays)   wall clock, one slot a local day
          Window(opens, target, closes, at)             days from the start; kinds "opens", "target", "closes"
          Once(at, must), After(hours, must)            one moment, or so many elapsed hours after the start
          Every(minutes, hours)                         exact gaps: a pot watch
          from_json(document), to_json(rule); a rule that makes no sense raises BadRule.
series    open_series(key, act, title, rule, starts_at, at, place="", walk=0, url="", ends_at=None)
              makes sure that the series stands like this; rule may be the dataclass or its JSON document.
              Calling it again changes nothing; another rule plans the open rows ahead again; a closed
              series opens again with the rows it had.
          close_series(key, at), open_again(key, at), move_place(was, place, walk)
          plan_ahead(at), replan_all(at): the sweep calls the first; it also notices a changed zone, opening
              time or closed day by itself.
settle    mark_done(by, at, due=pk or key="...", reason="") -> pk or None; mark_all_done(dues, by, at)
          skip(due, by, at, reason=""), snooze(due, until, by, at, reason=""), undo(due, by, at, reason="")
queries   board(at) -> Board: all of it in one query
          most_urgent(at), by_urgency(items): for the wall
          due_now(at), due_for(keys, at), coming_for(keys, at), next_for(keys, at), next_due(key, at),
          due_by(until, at) -> DueItem
          missed_count(key, at), said_since(since) -> Said, todays_digest(person, at)
ahead     running(prefix, at) -> Running, windows(act, at) -> WindowOf
sweep     sweep(at): plan, write the day's digests and what fell due, send. Called each minute, by any number
          of workers.
digest, telling, ways, words, services, seal: from a due to a message on somebody's telephone
closed    public holidays and closures of the workshop, read by `calendar.workshop_calendar()`

All may be called inside the caller's transaction. In a page: `{% load reminders %}{{ item|due_words:zone }}`.
"""
