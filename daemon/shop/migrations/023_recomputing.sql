-- What a station is asked about a reading of its own: the samples about it, or what its readings up to
-- that one come to when they are made out anew from its recorded streams. A station whose program does
-- not know the word answers as it always did; its answer then bears another word than the question.
alter table benchhand.asked add column about text not null default 'trace'
    check (about ~ '^[a-z]{1,20}$');
alter table benchhand.pieces add column about text not null default 'trace'
    check (about ~ '^[a-z]{1,20}$');
comment on column benchhand.asked.about is 'trace, or recomputed';
