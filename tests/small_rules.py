"""The smallest whole tables of faults, remedies and openings, read anew from text. Every figure is invented.

Two components, three parts (the pinblock is a gate), eight faults, ten checks, fifteen operations.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

from valuation.engine.rows.tables import Tables
from valuation.facts.columns import columns_of
from valuation.files.faults import file_of
from valuation.rules import ROW_CLASSES, tables_of

SOURCES = """\
id,kind,title
invented,invented,Invented for the tests
own_estimate,shop's own estimate,What the shop thinks
"""

COMPONENTS = """\
id,name,note
block,block and strings,
action,action,
"""

FEATURES = """\
id,name,kinds,value_factor,source,note
straight_strung,straight strung,both,0.6,invented,
drop_action,drop action,upright,0.8,invented,
"""

MATERIALS = """\
id,name,unit,taxed_as,price_low,price_likely,price_high,waste,markup,valid_from,valid_to,source,note
wire,music wire,kg,material,20,28,40,0.1,0.25,2025-01-01,,invented,
pins,tuning pins,set,material,60,80,120,0.05,0.25,2025-01-01,,invented,
"""

RATES = """\
id,name,per_hour,valid_from,valid_to,source,note
workshop,work in the shop,64,2025-01-01,2025-12-31,invented,
workshop,work in the shop,68,2026-01-01,,invented,
home,work at the piano,75,2025-01-01,,invented,
"""

SIZES = """\
id,kind,from_mm,to_mm,name,usual,note
small_upright,upright,800,1200,small upright,no,
full_upright,upright,1200,1600,full upright,yes,
any_grand,grand,1200,3200,grand,yes,
"""

TIERS = """\
id,name,rank,usual,note
plain,plain,1,yes,
fine,fine,2,no,
"""

ERAS = """\
id,from_year,to_year,name,note
old,1700,1945,before 1946,
new,1946,2100,from 1946,
"""

BANDS = """\
kind,size,tier,era,failed,worn,serviceable,sound,spread,valid_from,valid_to,source,note
upright,small_upright,plain,old,20,100,400,900,1.5,2025-01-01,,invented,
upright,small_upright,plain,new,30,200,700,1500,1.5,2025-01-01,,invented,
upright,small_upright,fine,old,30,200,800,1800,1.5,2025-01-01,,invented,
upright,small_upright,fine,new,50,400,1600,3500,1.5,2025-01-01,,invented,
upright,full_upright,plain,old,30,200,800,1900,1.5,2025-01-01,,invented,
upright,full_upright,plain,new,50,400,1400,3000,1.5,2025-01-01,,invented,
upright,full_upright,fine,old,60,500,2000,4500,1.5,2025-01-01,,invented,
upright,full_upright,fine,new,90,900,3500,8000,1.5,2025-01-01,,invented,
grand,any_grand,plain,old,100,800,3000,7000,1.6,2025-01-01,,invented,
grand,any_grand,plain,new,200,1500,5000,10000,1.6,2025-01-01,,invented,
grand,any_grand,fine,old,500,4000,14000,30000,1.6,2025-01-01,,invented,
grand,any_grand,fine,new,900,7000,22000,45000,1.6,2025-01-01,,invented,
"""

REPLACEMENTS = """\
kind,tier,name,price_low,price_likely,price_high,years,plays,haul_away,valid_from,valid_to,source,note
upright,plain,a sound used upright,1500,2500,4000,25,0.9,250,2025-01-01,,invented,
upright,fine,a fine used upright,4000,6000,9000,30,0.95,250,2025-01-01,,invented,
grand,plain,a sound used grand,6000,9000,14000,25,0.9,400,2025-01-01,,invented,
grand,fine,a fine used grand,20000,30000,45000,30,0.97,400,2025-01-01,,invented,
"""

CHOICES = """\
id,question,name,plain,operation,declines,feature,free,source,note
finish_kept,finish,kept,the old finish stays,,,,yes,own_estimate,
finish_new,finish,new,a new finish is put on,,,straight_strung,no,own_estimate,
key_tops_new,key_tops,new,voiced as well,voice,,,no,own_estimate,
"""

STAGES = """\
id,name,step,outcome,in_hand,source,note
asked,asked,1,open,no,own_estimate,
evaluated,evaluated,2,open,no,own_estimate,
accepted,accepted,3,yes,yes,own_estimate,
delivered,delivered,4,yes,no,own_estimate,
declined,declined,0,no,no,own_estimate,
silent,silent,0,open,no,own_estimate,
"""

REASONS = """\
id,name,stages,source,note
no_money,no money for it,declined;silent,own_estimate,
"""

FOLLOW_UPS = """\
id,stage,after_days,what,source,note
ask_how_it_stands,evaluated,14,ask how it stands,own_estimate,
"""

HANDOVER = """\
id,kinds,name,how,taken,from_key,to_key,unit,low,high,even_within,after,source,note
pin_torque,both,torque of the pins,with the wrench,pin,1,88,N.m,11.298,13.559,,new_block,invented,
key_dip,upright,key dip,dip block,note,1,88,mm,9.5,11,0.3,,invented,
key_dip,grand,key dip,dip block,note,1,88,mm,9.5,10.5,0.3,,invented,
damper_lift,both,damper lift,with the pedal,note,1,66,mm,,,0.25,,invented,
"""

STATES = """\
id,name,score_low,score_high,whole_at_most,meaning,source,note
sound,sound,80,100,100,as good as it needs to be,own_estimate,
serviceable,serviceable,50,80,85,does its work,own_estimate,
worn,worn,20,50,60,does its work badly,own_estimate,
failed,failed,0,20,30,does not do its work,own_estimate,
"""

HIDDEN = """\
cause,id,name,odds,meaning,source,note
air,stable,steady,0.3,an even climate,invented,
air,seasonal,seasons,0.5,heated in winter,invented,
air,harsh,harsh,0.2,damp or very dry for years,invented,
use,light,little played,0.4,played now and then,invented,
use,ordinary,as in a home,0.45,played every week,invented,
use,heavy,played hard,0.15,a school,invented,
"""

TILTS = """\
cause,id,mild,usual,hard,source,note
air,weak,-0.1,0,0.15,invented,
air,medium,-0.15,0,0.3,invented,
air,strong,-0.2,0,0.45,invented,
use,weak,-0.1,0,0.15,invented,
use,medium,-0.15,0,0.3,invented,
use,strong,-0.2,0,0.4,invented,
"""

PARTS = """\
id,component,name,only_with,gate,ends_service,score_weight,value_weight,value_failed,\
play_sound,play_serviceable,play_worn,play_failed,years_sound,years_serviceable,years_worn,called,what,felt,source,note
pinblock,block,pinblock and tuning pins,,yes,yes,2,0.5,0.8,1,0.97,0.6,0.05,40,20,8,,,It goes flat.,invented,
strings,block,strings,,no,no,1,0.2,0.3,1,0.96,0.8,0.3,40,20,8,,,The tone is dull.,invented,
hammers,action,hammers,,no,no,1,0.3,0.4,1,0.95,0.7,0.4,30,15,6,,,The tone is hard.,invented,
"""

SYSTEMS = """\
id,name,parts,note
block,block and strings,pinblock;strings,
action,action,hammers,
"""

FAULTS = """\
id,part,kinds,only_with,not_with,name,plain,slight,marked,severe,makes_slight,makes_marked,makes_severe,cause,tilt,\
put_right_from,stop_tune,stop_raise,stop_play,stop_move,seen_at,piece,extent_slight,extent_marked,extent_severe,\
source,note
pins_loose,pinblock,both,,,worn pin holes,The pins are loose.,a few,many,most,serviceable,worn,failed,air,medium,\
severe,,severe,,,visit,pin,6,40,120,invented,
block_split,pinblock,both,,,split block,The block is split.,a hair,open,wide,worn,failed,failed,air,strong,\
marked,marked,slight,,,visit,,,,,invented,
glue_in_holes,pinblock,both,,,glue in the pin holes,The holes were glued.,some,many,all,sound,serviceable,worn,,,\
severe,,,,,strings_off,,,,,invented,
wire_rusty,strings,both,,,rusty wire,The wire is rusty.,dull,brown,flaking,serviceable,worn,failed,air,strong,\
severe,severe,marked,,,visit,,,,,invented,
string_broken,strings,both,,,broken strings,Strings are missing.,one,some,many,serviceable,worn,worn,,,\
slight,,,,,visit,string,1,3,12,invented,
pitch_low,strings,both,,,low pitch,It stands too low.,a little,much,far,sound,serviceable,worn,,,\
severe,,,,,visit,,,,,invented,
hammer_groove,hammers,both,,,grooved hammers,The hammers are cut.,lines,cuts,deep cuts,\
serviceable,worn,failed,use,strong,severe,,,,,visit,,,,,invented,
heads_loose,hammers,both,,,loose heads,Hammer heads are loose.,one,some,many,serviceable,worn,failed,air,weak,\
slight,,,,,action_home,head,1,4,20,invented,
"""

_AGES = {15: 1, 75: 4, 130: 8}
"""Age -> by how much the odds at 15 years are multiplied, at most."""

_YOUNG = {
    "pins_loose": (6, 2, 1),
    "block_split": (0.5, 0.4, 0.2),
    "glue_in_holes": (0.5, 0.3, 0.2),
    "wire_rusty": (6, 2, 0.5),
    "string_broken": (2, 0.5, 0.1),
    "pitch_low": (6, 3, 1),
    "hammer_groove": (6, 3, 1),
    "heads_loose": (1, 0.5, 0.1),
}


def _odds_row(fault: str, build: str, age: int, times: float) -> str:
    slight, marked, severe = (share * times for share in _YOUNG[fault])
    return (
        f"{fault},{build},{age},{100 - slight - marked - severe:.6g},{slight:.6g},{marked:.6g},{severe:.6g},invented,\n"
    )


FAULT_ODDS = (
    "fault,build,age,none,slight,marked,severe,source,note\n"
    + "".join(_odds_row(fault, "", age, times) for fault in _YOUNG for age, times in _AGES.items())
    + "".join(_odds_row("pins_loose", "tier:plain", age, times * 1.2) for age, times in _AGES.items())
)

ACCESSES = """\
id,name,minutes,source,note
outside,nothing to open,0,invented,
lid,lid up,1,invented,
bottom,lower panel off,2,invented,
action,action out,8,invented,
keys,keys off,6,invented,
strings,strings off,0,invented,
"""

CONFLICTS = """\
fault,at_least,with_fault,at_most,chance,says,source,note
pins_loose,severe,pitch_low,none,0.1,The wrench may have been read wrongly.,invented,
"""

READINGS = """\
id,given,none,slight,marked,severe,source,note
clear,none,0.95,0.049,0.00098,0.00002,invented,
clear,slight,0.1,0.86,0.039,0.001,invented,
clear,marked,0.012,0.108,0.855,0.025,invented,
clear,severe,0.0015,0.0135,0.115,0.87,invented,
blunt,none,0.8,0.15,0.04,0.01,invented,
blunt,slight,0.25,0.5,0.2,0.05,invented,
blunt,marked,0.08,0.22,0.5,0.2,invented,
blunt,severe,0.03,0.12,0.35,0.5,invented,
told_air,stable,0.55,0.3,0.1,0.05,invented,
told_air,seasonal,0.3,0.4,0.2,0.1,invented,
told_air,harsh,0.1,0.25,0.35,0.3,invented,
told_use,light,0.6,0.3,0.085,0.015,invented,
told_use,ordinary,0.2,0.5,0.25,0.05,invented,
told_use,heavy,0.05,0.15,0.4,0.4,invented,
"""

_CHECK_COLUMNS = (
    "id,kinds,reads,must,quick,access,minutes,sureness,answer,unit,better,cut_slight,cut_marked,cut_severe,"
    "repeats_within,lowest,highest,summary,asked_after,asked_from,none,slight,marked,severe,extent"
)
_CHECKS = """\
room,both,air,yes,yes,outside,2,told_air,choice,,,,,,,,,,,,even: the same all year,heated: heated in winter,\
damp: a cellar,wet: it stood in water,none
player,both,use,no,yes,outside,2,told_use,choice,,,,,,,,,,,,seldom: now and then,weekly: every week,daily: every day,\
school: all day long,none
pin_torque,both,pins_loose,yes,no,strings,10,clear,readings,N.m,high,9,5.6,3.4,0.6,0,30,pieces,,,,,,,none
pin_feel,both,pins_loose,no,yes,lid,3,blunt,choice,,,,,,,,,,,,firm: it holds,soft: it gives a little,loose: it turns,\
falling: it falls,count
block_crack,both,block_split,quote,no,lid,3,clear,choice,,,,,,,,,,,,whole: no crack,hair: a hairline,\
open: a card goes in,wide: a coin goes in,none
string_rust,both,wire_rusty,no,yes,lid,2,clear,choice,,,,,,,,,,,,bright: bright wire,dull: dull wire,brown: brown wire,\
flakes: rust comes off,sections
strings_missing,both,string_broken,no,yes,lid,2,clear,number,count,low,1,3,8,0.1,0,240,,,,,,,,none
pitch_fall,both,pitch_low,yes,yes,outside,3,clear,number,cents,high,-15,-50,-100,4,-400,100,,,,,,,,none
groove_depth,both,hammer_groove,no,no,action,3,clear,number,mm,low,0.8,1.6,2.5,0.2,0,12,,,,,,,,none
heads_click,both,heads_loose,no,no,outside,3,blunt,choice,,,,,,,,,,groove_depth,marked,quiet: no click,one: one clicks,\
some: some click,many: many click,count
"""

PIECES = "check,given,middle,share,alike,source,note\n" + "".join(
    f"pin_torque,{given},{middle},{share},0.3,invented,\n"
    for given, shares in {
        "none": (0.01, 0.09, 0.4, 0.5),
        "slight": (0.03, 0.25, 0.45, 0.27),
        "marked": (0.15, 0.45, 0.3, 0.1),
        "severe": (0.6, 0.3, 0.08, 0.02),
    }.items()
    for middle, share in zip((2, 5, 8, 11), shares, strict=True)
)

_OPERATION_COLUMNS = (
    "id,part,level,rung,strings,action,name,hours_low,hours_likely,hours_high,where,materials,lasts_years,"
    "loss_of_value,told,renews,followed_by,covers"
)
_OPERATIONS = """\
action_out,,access,,,,action out and in,0.2,0.4,0.8,home,,,,,,,
let_down,,access,,,,tension let down,0.5,1,2,workshop,,,,,,,
strings_away,,access,,,,strings and pins out,3,4,6,workshop,,,,,,,
pins_driven,pinblock,small,,,,pins driven in,0.2,0.4,0.8,home,,8,,,,,
block_glued,pinblock,small,,strings_off,,block glued,4,6,10,workshop,,15,0.1,the block was glued,,,
oversize_pins,pinblock,large,1,strings_off,,oversize pins,2,4,7,workshop,pins:1,20,,,,tune,pins_driven
new_block,pinblock,large,2,strings_off,,new block,30,45,80,workshop,pins:1,50,,,block,tune,pins_driven;block_glued
string_replaced,strings,small,,,,strings replaced,0.1,0.2,0.4,home,,20,,,,,
restring,strings,large,1,strings_off,,new strings,13,20,30,workshop,wire:2.5,40,,,,tune,string_replaced
head_glued,hammers,small,,,action_home,heads glued,0.1,0.2,0.4,home,,15,,,,,
reshape,hammers,large,1,,action_home,hammers reshaped,1.5,3,5,home,,10,,,,voice,
new_hammers,hammers,large,2,,action_home,new hammers,9,15,24,workshop,,35,,,action,voice,reshape;head_glued
voice,,follow,,,,voicing,2,5,12,home,,,,,,,
tune,,service,,,,tuning,1.5,2.5,4,home,,,,,,,
pitch_raise,,service,,,,pitch raise,2,3.5,5,home,,,,,,,
"""

_CURES = """\
pins_driven,pins_loose,none,slight,,0.02,0.03,0.06
block_glued,block_split,none,none,slight,,,
oversize_pins,pins_loose,none,none,slight,,,
oversize_pins,block_split,slight,marked,severe,,,
oversize_pins,glue_in_holes,slight,marked,severe,,,
new_block,pins_loose,none,none,none,,,
new_block,block_split,none,none,none,,,
new_block,glue_in_holes,none,none,none,,,
string_replaced,string_broken,none,none,none,0.3,0.5,0.8
restring,wire_rusty,none,none,none,,,
restring,string_broken,none,none,none,,,
restring,pitch_low,none,none,none,,,
head_glued,heads_loose,none,none,none,0.1,0.15,0.3
reshape,hammer_groove,none,none,slight,,,
reshape,heads_loose,slight,marked,severe,,,
new_hammers,hammer_groove,none,none,none,,,
new_hammers,heads_loose,none,none,none,,,
pitch_raise,pitch_low,none,none,none,,,
"""

FORBIDDEN = """\
operation,fault,since,feature,why,source,note
oversize_pins,block_split,marked,,A split goes on under larger pins.,invented,
reshape,,,straight_strung,There is too little felt.,invented,
"""

FEATURE_HOURS = """\
feature,applies_to,factor,source,note
drop_action,part:hammers,1.5,invented,
drop_action,action_out,2,invented,
"""

OPENINGS = """\
id,kinds,axis,step,name,operations,forces,needs,renews,source,note
closed,both,strings,0,strings stay on,,,,,invented,
tension_down,both,strings,1,tension let down,let_down,,,,invented,
strings_off,both,strings,2,strings off,strings_away,strings:restring;pinblock:oversize_pins|new_block,action_home,\
block,invented,
action_in,both,action,0,action stays in,,,,,invented,
action_home,both,action,1,action out,action_out,,,,invented,
action_rebuilt,both,action,2,action rebuilt,voice,hammers:new_hammers,,action,invented,
board_kept,both,board,0,board stays,,,,,invented,
finish_kept,both,finish,0,finish stays,,,,,invented,
"""

ACCESSES = """\
id,name,minutes,source,note
outside,nothing to open,0,own_estimate,
lid,lid up,1,own_estimate,
bottom,lower panel off,2,own_estimate,
action,action out,8,own_estimate,
keys,keys off,6,own_estimate,
strings,strings off,0,own_estimate,
"""

TAKEN_OVER = """\
old_check,old_word,check,severity,note
"""

SCOPES = """\
id,verdict,name,plain,holds,systems_least,systems_most,source,note
safe,keep,made safe,What is dangerous is put right.,stops,0,0,invented,
put_right,partial_repair,put right,What is broken is mended.,broken,0,1,invented,
rebuild,rebuild,rebuilt,Its systems are made new.,worn,2,2,invented,
"""

CAUTIONS = """\
id,rank,always,fault,since,operation,feature,text,plain,source,note
not_certified,note,yes,,,,,A value here is not a certified appraisal.,,own_estimate,
block_gives_way,stop,,block_split,slight,,,A split block may give way.,,own_estimate,
flaking_wire,stop,,wire_rusty,marked,,,Rusty wire breaks.,,own_estimate,
pins_give_way,warn,,pins_loose,severe,,,The pins will not take more pull.,,own_estimate,
tension,warn,,,,strings_away,,Let the tension down in passes.,,own_estimate,
drop_action,note,,,,,drop_action,A drop action takes longer.,,own_estimate,
"""

COUNTRIES = """\
id,name,currency,language,writes,paper,units,appraiser,not_called,source,basis,checked_on,checked_by,note
here,Here,EUR,en,GB,a4,metric,a sworn expert,certificate,from memory,memory,2026-11-25,nobody,
there,There,USD,en,US,letter,imperial,a qualified appraiser,,from memory,memory,2026-11-25,nobody,
"""

TAXES = """\
id,country,name,word,labour,material,outside,resale,shown,says,valid_from,valid_to,source,basis,checked_on,checked_by,note
usual,here,usual,VAT,0.2,0.2,0.2,0.2,yes,,2025-01-01,,from memory,memory,2026-11-25,nobody,
small,here,small business,VAT,0,0,0,0,no,No tax is charged.,2025-01-01,,from memory,memory,2026-11-25,nobody,
parts,there,parts only,sales tax,0,0.08875,0,0.08875,yes,,2025-01-01,,from memory,memory,2026-11-25,nobody,
"""

LAWS = """\
id,countries,topic,papers,feature,says,figure,unit,source,basis,checked_on,checked_by,note
offer,here;there,offer,quotation,,It binds us until its last day.,,,from memory,memory,2026-11-25,nobody,
away,here,cancelling,quotation,,You may withdraw within {figure} days.,14,days,Act 1,law cited,2026-11-25,nobody,
felt,here,border,letter,drop_action,Drop actions stay in the country.,,,from memory,memory,2026-11-25,nobody,
felt_there,there,border,letter,drop_action,Drop actions come in with papers.,,,from memory,memory,2026-11-25,nobody,
"""

VALUE_KINDS = """\
id,countries,role,name,definition,quoted,market,used_for,source,basis,checked_on,checked_by,note
market,,market,market value,what it fetches,no,all,to decide,common practice,memory,2026-11-25,nobody,
market_there,there,market,fair value,what it should fetch,yes,all,to decide,Act 2,law cited,2026-11-25,nobody,
replacement,,replacement,replacement,what another costs,no,dealers,to compare,common practice,memory,2026-11-25,nobody,
salvage,,salvage,salvage,what its parts fetch,no,scrap,to retire it,common practice,memory,2026-11-25,nobody,
"""

RETENTIONS = """\
country,what,years,demanded,source,basis,checked_on,checked_by,note
here,invoice,8,yes,Act 3,law cited,2026-11-25,nobody,
here,order,6,yes,Act 3,law cited,2026-11-25,nobody,
here,evaluation,3,no,from memory,memory,2026-11-25,nobody,
there,invoice,7,yes,Act 4,law cited,2026-11-25,nobody,
there,order,7,yes,Act 4,law cited,2026-11-25,nobody,
there,evaluation,3,no,from memory,memory,2026-11-25,nobody,
"""

TRADE_WORDS = """\
country,language,word,here,source,basis,checked_on,checked_by,note
there,en,pinblock,plank,from memory,memory,2026-11-25,nobody,
"""

FIGURES = """\
kind,of,moves,turns,source,note
rates,home,300,5,invented,
"""

SETTINGS = {
    "country": ("'here'", ""),
    "currency": ("'EUR'", ""),
    "horizon_years": ("15", "years"),
    "discount_rate": ("0.02", "share/year"),
    "usual_year": ("1915", ""),
    "playing_worth": ("1.3", ""),
    "job_spread": ("0.16", ""),
    "market_spread": ("0.12", ""),
    "wear_shape": ("3", ""),
    "value_loss_per_year": ("0.02", "share/year"),
    "selling_cost": ("0.1", ""),
    "clear_share": ("0.8", ""),
    "leaning_share": ("0.6", ""),
    "tax": ("'usual'", ""),
    "round_to": ("10", "money"),
    "visit_rate": ("'home'", ""),
    "keep_operations": ("['tune']", ""),
    "quote_days": ("60", "days"),
    "bench_hours_week": ("20", "h"),
    "about_years": ("6", "years"),
    "usual_humidity": ("45", "%"),
    "fixed_from": ("0.5", ""),
    "forbidden_from": ("0.5", ""),
    "likely_from": ("0.02", ""),
    "asked_from": ("0.005", ""),
    "serves_least": ("0.3", ""),
    "near_keep": ("0.1", ""),
    "near_scope": ("0.03", ""),
    "near_rebuild": ("0.75", ""),
    "conflict_from": ("2", ""),
    "raise_operation": ("'pitch_raise'", ""),
    "raise_fault": ("'pitch_low'", ""),
}


def _with_the_rest(table: str, columns: str, rows: str) -> str:
    """Return rows written in their telling columns as a whole table: words that must stand stand, others are empty."""
    words = {"how": "look", "why": "it matters", "plain": "work is done", "source": "invented", "kinds": "both"}
    read = list(csv.DictReader(io.StringIO(columns + "\n" + rows)))
    out = io.StringIO()
    writer = csv.DictWriter(out, list(columns_of(ROW_CLASSES[table])), restval="", lineterminator="\n")
    writer.writeheader()
    for row in read:
        filled = {name: word for name, word in words.items() if name in writer.fieldnames and name not in row}
        named = {"name": row["id"].replace("_", " ")} if "name" in writer.fieldnames and "name" not in row else {}
        writer.writerow({**filled, **named, **row})
    return out.getvalue()


CHECKS = _with_the_rest("checks", _CHECK_COLUMNS, _CHECKS)
OPERATIONS = _with_the_rest("operations", _OPERATION_COLUMNS, _OPERATIONS)
CURES = _with_the_rest("cures", "operation,fault,slight,marked,severe,piece_low,piece_likely,piece_high", _CURES)

Change = str | tuple[str, str] | list[tuple[str, str]]
"""The new text of a table, or one or several (old, new) pieces of its text, each of which must be there."""


def texts(**changes: Change) -> dict[str, str]:
    """Return the text of each table, and of the settings, with changes by table."""
    unknown = changes.keys() - {*ROW_CLASSES, "settings"}
    assert not unknown, f"no such table: {unknown}"
    return {table: _changed(text, changes.get(table, [])) for table, text in _plain_texts().items()}


def changed(table: str, *key: str, **cells: str) -> str:
    """Return a table's text with cells changed in the first row that begins with the key."""
    header, rows = _cells_of(table)
    at = _row_of(table, rows, key)
    unknown = cells.keys() - set(header)
    assert not unknown, f"no such column: {unknown}"
    rows[at] = [cells.get(name, cell) for name, cell in zip(header, rows[at], strict=True)]
    return _as_text([header, *rows])


def without(table: str, *key: str) -> str:
    """Return a table without the rows that begin with the key."""
    header, rows = _cells_of(table)
    _row_of(table, rows, key)
    return _as_text([header, *(row for row in rows if tuple(row[: len(key)]) != key)])


def with_checks(*rows: str, **cells: dict[str, str]) -> str:
    """Return the checks with more rows, written in the telling columns, and with cells by column and check."""
    text = _with_the_rest("checks", _CHECK_COLUMNS, "\n".join((_CHECKS.rstrip("\n"), *rows)))
    header, *read = csv.reader(io.StringIO(text))
    for column, by_check in cells.items():
        for row in read:
            row[header.index(column)] = by_check.get(row[0], row[header.index(column)])
    return _as_text([header, *read])


def line_of(table: str, *key: str) -> int:
    """Return the line of the first row that begins with the key."""
    return _row_of(table, _cells_of(table)[1], key) + 2


def tables(**changes: Change) -> Tables:
    """Return the tables, read and checked, with changes by table: ``tables(scopes=("worn,2,2", "worn,1,2"))``."""
    return tables_of(texts(**changes))


def write(folder: Path, **changes: Change) -> Path:
    """Write the folder, one file a table, and return it."""
    folder.mkdir(parents=True, exist_ok=True)
    for table, text in texts(**changes).items():
        (folder / file_of(table)).write_text(text, encoding="utf-8", newline="\n")
    return folder


def _cells_of(table: str) -> tuple[list[str], list[list[str]]]:
    header, *rows = csv.reader(io.StringIO(_plain_texts()[table]))
    return header, rows


def _row_of(table: str, rows: list[list[str]], key: tuple[str, ...]) -> int:
    found = [at for at, row in enumerate(rows) if tuple(row[: len(key)]) == key]
    assert found, f"no row of {table} begins with {key}"
    return found[0]


def _as_text(rows: list[list[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def _plain_texts() -> dict[str, str]:
    settings = (
        f"[{name}]\nvalue = {value}\nunit = '{unit}'\nsource = 'own_estimate'\nnote = ''\n"
        for name, (value, unit) in SETTINGS.items()
    )
    return {**{table: globals()[table.upper()] for table in ROW_CLASSES}, "settings": "\n".join(settings)}


def _changed(text: str, change: Change) -> str:
    if isinstance(change, str):
        return change
    for old, new in [change] if isinstance(change, tuple) else change:
        assert old in text, f"{old!r} is not in the table: the test no longer changes anything"
        text = text.replace(old, new, 1)
    return text
