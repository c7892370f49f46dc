"""Registers that others published, in the forms in which they printed them, with what they say of them.

Names in them are what the cards hold; they name no maker here. Expected values are those of the sources, see
``edgestore/verification/checks/registers``.
"""

STATUS = "000000000800000004009000011b391e000800000002ff0003000000" + 72 * "0"

LINUX = f"""$ grep -H . /sys/class/mmc_host/mmc0/mmc0:5048/*
grep: /sys/class/mmc_host/mmc0/mmc0:5048/block: Is a directory
/sys/class/mmc_host/mmc0/mmc0:5048/cid:9f544953443634476136980065013b7e
/sys/class/mmc_host/mmc0/mmc0:5048/csd:400e00325b590001cfff7f800a4000fa
/sys/class/mmc_host/mmc0/mmc0:5048/date:11/2019
/sys/class/mmc_host/mmc0/mmc0:5048/dsr:0x404
/sys/class/mmc_host/mmc0/mmc0:5048/erase_size:512
/sys/class/mmc_host/mmc0/mmc0:5048/fwrev:0x1
/sys/class/mmc_host/mmc0/mmc0:5048/manfid:0x00009f
/sys/class/mmc_host/mmc0/mmc0:5048/oemid:0x5449
/sys/class/mmc_host/mmc0/mmc0:5048/preferred_erase_size:4194304
/sys/class/mmc_host/mmc0/mmc0:5048/scr:0205848701006432
/sys/class/mmc_host/mmc0/mmc0:5048/serial:0x36980065
/sys/class/mmc_host/mmc0/mmc0:5048/ssr:{STATUS}
/sys/class/mmc_host/mmc0/mmc0:5048/type:SD
"""

LOADER = """  4.79 SD HOST: 200000000 CTL0: 0x00800000 BUS: 400000 Hz actual: 390625 HZ div: 512 (256)
  4.90 OCR c0ff8000 [148]
CID: 00ad4c5355534430301038942790018a
CSD: 400e0032db790000ec537f800a400000
  4.91 SD: bus-width: 4 spec: 2 SCR: 0x02358487 0x00000000
  4.93 MBR: 0x00000800,61949952 type: 0x0c
"""

DEVICES = """ looking at device '/devices/platform/ocp/48060000.mmc/mmc_host/mmc0/mmc0:aaaa/block/mmcblk0':
    ATTR{size}=="31116288"
  looking at parent device '/devices/platform/ocp/48060000.mmc/mmc_host/mmc0/mmc0:aaaa':
    ATTRS{scr}=="0235804300000000"
    ATTRS{preferred_erase_size}=="4194304"
    ATTRS{serial}=="0xecf4c851"
    ATTRS{csd}=="400e00325b59000076b27f800a404013"
    ATTRS{type}=="SD"
    ATTRS{manfid}=="0x000003"
    ATTRS{date}=="11/2017"
    ATTRS{cid}=="035344534331364780ecf4c851011b85"
"""

CATALOGUE = """CID: $9F $54 $49 $53 $50 $43 $43 $20 $07 $00 $94 $01 $05 $71 $97 $6B
CSD: $40 $0E $00 $32 $DB $59 $00 $01 $CF $9B $7F $80 $0A $40 $00 $81
OCR: $C0FF_8000
SCR: $02 $45 $84 $8F $33 $33 $30 $39
"""

SHELL = """root@board:~# cat /sys/bus/mmc/devices/mmc0\\:1388/cid
ba2345534134474206071c06fe016945

root@board:~# cat /sys/bus/mmc/devices/mmc0\\:1388/csd
400e00325b5900001cdf7f800a4000d7
"""

RECORDER = """serial: 0x33E0F659
manufactured: 11/2025
CID: 9F544930303030306533E0F659019B5D
CSD capacity sectors: 61071360
erase size blocks: 128
CSD: 400E00325B590000E8F77F800A400039
OCR: 0xC0FF8000
SD spec version: 6.00
SCR: 02B5848300000000
"""

# As arrays of words of a test suite, the last word first, in the way in which hosts print their answer registers.
WORDS = """cid[0]: 0xc000e344, cid[1]: 0x80f1086b, cid[2]: 0x45333247, cid[3]: 0x03534453
csd[0] = 0x0a4040c2;
csd[1] = 0xedc87f80;
csd[2] = 0x5b590000;
csd[3] = 0x400e0032;
"""

EMMC = """eMMC Life Time Estimation A [EXT_CSD_DEVICE_LIFE_TIME_EST_TYP_A]: 0x02
eMMC Life Time Estimation B [EXT_CSD_DEVICE_LIFE_TIME_EST_TYP_B]: 0x01
eMMC Pre EOL information [EXT_CSD_PRE_EOL_INFO]: 0x01
"""

# Text, month, year, serial number, bytes, as each source says them.
PUBLISHED = {
    "files of Linux": (LINUX, 11, 2019, 0x36980065, 62_277_025_792),
    "boot loader": (LOADER, 10, 2024, 0x38942790, 31_719_424_000),
    "device attributes": (DEVICES, 11, 2017, 0xECF4C851, 31_116_288 * 512),
    "catalogue": (CATALOGUE, 7, 2025, 9_699_589, 121_532_416 * 512),
    "recorder": (RECORDER, 11, 2025, 0x33E0F659, 31_268_536_320),
    "words": (WORDS, 3, 2014, 4_043_860_928, 31_914_983_424),
}
