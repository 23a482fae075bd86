"""The smallest whole folder of tables: three parts in two components. Every figure is invented for the tests."""

from __future__ import annotations

from pathlib import Path

SOURCES = """\
id,kind,title
invented,invented,Invented for the tests
own_estimate,shop's own estimate,What the shop thinks
"""

STATES = """\
id,name,score_low,score_high,meaning,source,note
sound,sound,80,100,as good as it needs to be,own_estimate,
serviceable,serviceable,50,80,does its work,own_estimate,
worn,worn,20,50,does its work badly,own_estimate,
failed,failed,0,20,does not do its work,own_estimate,
"""

EXPOSURES = """\
id,name,odds,meaning,source,note
stable,stable,0.3,an even climate,invented,
seasonal,seasonal,0.5,heated in winter,invented,
harsh,harsh,0.2,damp or very dry for years,invented,
"""

COMPONENTS = """\
id,name,note
block,block and strings,
action,action,
"""

PARTS = """\
id,component,name,present,score_weight,value_weight,value_failed,play_sound,play_serviceable,play_worn,play_failed,\
years_sound,years_serviceable,years_worn,core,at_teardown,called,what,felt,source,note
pinblock,block,pinblock and tuning pins,always,2,0.5,0.8,1,0.97,0.6,0.05,40,20,8,repair,yes,,,It goes flat.,invented,
strings,block,strings,always,1,0.2,0.3,1,0.96,0.8,0.3,40,20,8,replace,no,,,The tone is dull.,invented,
hammers,action,hammers,always,1,0.3,0.4,1,0.95,0.7,0.4,30,15,6,,no,,,The tone is hard.,invented,
"""

FEATURES = """\
id,name,kinds,value_factor,source,note
straight_strung,straight strung,both,0.6,invented,
drop_action,drop action,upright,0.8,invented,
"""

AGES = """\
id,from_years,to_years,name,note
young,0,60,up to 60 years,
old,60,400,60 years and more,
"""

_PRIOR_ROWS = """\
{part},young,stable,0.50,0.30,0.15,0.05,invented,
{part},young,seasonal,0.35,0.35,0.20,0.10,invented,
{part},young,harsh,0.15,0.30,0.30,0.25,invented,
{part},old,stable,0.30,0.35,0.25,0.10,invented,
{part},old,seasonal,0.20,0.30,0.30,0.20,invented,
{part},old,harsh,0.10,0.20,0.35,0.35,invented,
"""

PRIORS = "part,age,exposure,sound,serviceable,worn,failed,source,note\n" + "".join(
    _PRIOR_ROWS.format(part=part) for part in ("pinblock", "strings", "hammers")
)

STRENGTHS = """\
id,given,good,fair,poor,failed,source,note
medium,sound,0.60,0.25,0.10,0.05,invented,
medium,serviceable,0.25,0.45,0.20,0.10,invented,
medium,worn,0.10,0.20,0.45,0.25,invented,
medium,failed,0.05,0.10,0.25,0.60,invented,
view,sound,0.800,0.170,0.025,0.005,invented,
view,serviceable,0.160,0.660,0.145,0.035,invented,
view,worn,0.025,0.145,0.660,0.170,invented,
view,failed,0.005,0.035,0.180,0.780,invented,
history,stable,0.55,0.30,0.10,0.05,invented,
history,seasonal,0.30,0.40,0.20,0.10,invented,
history,harsh,0.10,0.25,0.35,0.30,invented,
"""

FAMILIES = """\
id,part,name,view,source,note
told,history,what is told of its life,none,invented,
pin_grip,pinblock,how the pins hold,view,invented,
wire,strings,the wire,view,invented,
felt,hammers,the felt,view,invented,
centres,hammers,the centres of the hammers,view,invented,
"""

CHECKS = """\
id,kinds,family,name,how,why,tool,place,quick,minutes,strength,answer,unit,better,target,cut_fair,cut_poor,cut_failed,\
repeats_within,lowest,highest,summary,readings_of,limit,of_all,good,fair,poor,failed,source,note
room,both,told,the room,ask,wood moves with the air,,outside,yes,2,history,choice,,,,,,,,,,,,,,\
even: the same all year,heated: heated in winter,damp: a cellar,wet: it stood in water,invented,
pin_torque,both,pin_grip,torque of the pins,turn a pin a little flat,loose pins do not hold a tuning,\
torque wrench,opened,yes,10,medium,readings,N.m,high,,9,5.6,3.4,0.6,0,30,median,,,,,,,,invented,
loose_pins,both,pin_grip,share of loose pins,from the readings,a few loose pins can be mended,,opened,yes,1,\
medium,readings,%,low,,2,8,25,,0,100,share_below,pin_torque,3.4,225,,,,,invented,
string_rust,both,wire,rust on the wire,look,rusty wire breaks,lamp,opened,no,2,medium,choice,,,,,,,,,,,,,,\
bright: bright wire,dull: dull wire,,flakes: rust comes off,invented,
hammer_groove,both,felt,depth of the grooves,measure,grooves take felt,rule,action_out,no,3,\
medium,number,mm,low,,0.8,1.6,2.5,0.2,0,12,,,,,,,,,invented,
hammer_swings,grand,centres,swings of a hammer,let it swing,tight centres are slow,,action_out,no,5,\
medium,number,swings,near,5,2,3,4,0.5,0,30,,,,,,,,,invented,
"""

OPERATIONS = """\
id,kinds,part,level,name,plain,holds_to,instead,leaves,lasts_years,hours_low,hours_likely,hours_high,where,materials,\
outside_low,outside_likely,outside_high,needs,followed_by,covers,source,note
action_out,both,,access,action out and in,take the action out,,,,,0.2,0.4,0.8,home,,,,,,,,own_estimate,
strings_off,both,,access,strings off,take the strings off,,,,,3,4,6,workshop,,,,,,,,own_estimate,
oversize_pins,both,pinblock,repair,oversize pins,fit larger pins,worn,new_block,serviceable,20,2,4,7,workshop,pins:1,\
,,,strings_off,restring,,own_estimate,
new_block,upright,pinblock,replace,new block,make a new block,,,sound,50,30,45,80,workshop,pins:1,,,,\
strings_off,restring,oversize_pins,own_estimate,
new_block,grand,pinblock,replace,new block,make a new block,,,sound,50,18,28,45,workshop,pins:1,\
200,300,500,strings_off,restring,oversize_pins,own_estimate,
restring,both,strings,replace,restring,fit new strings,,,sound,40,13,20,30,workshop,wire:2.5,\
,,,strings_off,tune,,own_estimate,
reshape_hammers,both,hammers,repair,reshape,file the hammers,worn,new_hammers,serviceable,10,1.5,3,5,home,,,,,\
action_out,voice,,own_estimate,
new_hammers,both,hammers,replace,new hammers,fit new hammers,,,sound,35,9,15,24,workshop,,150,250,400,\
action_out,voice,reshape_hammers,own_estimate,
voice,both,,follow,voice,even out the tone,,,,,2,5,12,home,,,,,,,,own_estimate,
tune,both,,service,tune,tune the piano,,,,,1.5,2.5,4,home,,,,,,,,own_estimate,
"""

MATERIALS = """\
id,name,unit,price_low,price_likely,price_high,waste,markup,source,note
wire,music wire,kg,20,28,40,0.1,0.25,invented,
pins,tuning pins,set,60,80,120,0.05,0.25,invented,
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

CAUTIONS = """\
id,rank,always,check,from_grade,operation,feature,blocks,requires,treat_first,text,plain,source,note
not_certified,note,yes,,,,,,,,A value here is not a certified appraisal.,,own_estimate,
flaking_wire,stop,no,string_rust,failed,,,tune,,strings,Flaking wire breaks under the hammer.,,own_estimate,
tension,warn,no,,,strings_off,,,,,Let the tension down in passes.,,own_estimate,
drop_action,note,no,,,,drop_action,,action_out,,A drop action takes longer each time it comes out.,,own_estimate,
"""

CHOICES = """\
id,question,name,plain,operation,feature,free,source,note
finish_kept,finish,kept,the old finish stays,,,yes,own_estimate,
finish_new,finish,new,a new finish is put on,,straight_strung,no,own_estimate,
key_tops_new,key_tops,new,voiced as well,voice,,no,own_estimate,
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

SETTINGS = {
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
    "premium_unplayed": ("0.5", ""),
    "clear_share": ("0.8", ""),
    "leaning_share": ("0.6", ""),
    "tax": ("0.2", ""),
    "round_to": ("10", "money"),
    "visit_rate": ("'home'", ""),
    "rebuild_lasts_years": ("12", "years"),
    "keep_operations": ("['tune']", ""),
    "quote_days": ("60", "days"),
    "bench_hours_week": ("20", "h"),
}


TABLES = (
    *("sources", "states", "exposures", "components", "parts", "features", "ages", "priors", "strengths", "families"),
    *("checks", "operations", "materials", "rates", "sizes", "tiers", "eras", "bands", "replacements", "cautions"),
    "choices",
    *("stages", "reasons", "follow_ups", "handover"),
)


def small_files() -> dict[str, str]:
    """Return the files of the folder, text by name."""
    tables = {f"{name}.csv": globals()[name.upper()] for name in TABLES}
    settings = (
        f"[{name}]\nvalue = {value}\nunit = '{unit}'\nsource = 'own_estimate'\nnote = ''\n"
        for name, (value, unit) in SETTINGS.items()
    )
    return {**tables, "settings.toml": "\n".join(settings)}


def write_small_tables(folder: Path) -> Path:
    """Write the folder and return it."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in small_files().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return folder
